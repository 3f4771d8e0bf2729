"use strict";
(() => {
  const all = (what, where = document) => [...where.querySelectorAll(what)];
  const one = (what, where = document) => where.querySelector(what);
  const told = one("#told");
  let clear = 0;
  const tell = (words) => {
    told.textContent = words;
    clearTimeout(clear);
    clear = setTimeout(() => { told.textContent = ""; }, 2500);
  };

  // What only works with this script is hidden until it runs.
  for (const part of all(".chooser, .filter, .tools")) part.hidden = false;

  // A chooser of lights recolours the object's half; the screen's half stays as it is. Of a pair both halves move.
  for (const sample of all(".sample, .pair")) {
    const choose = () => {
      const light = one(".chooser.light input:checked", sample);
      if (!light) return;
      for (const half of all(".panel .patch .object", sample)) half.style.background = light.dataset.colour;
      if (light.dataset.right) one(".panel .patch", sample).style.background = light.dataset.right;
      for (const said of all(".said p", sample)) said.hidden = said.dataset.light !== light.value;
      const name = light.nextElementSibling.dataset.words;
      for (const where of all(".where", sample)) where.textContent = name;
      for (const row of all(".grid tbody tr", sample)) {
        row.classList.toggle("chosen", one("th bdi", row).textContent === name);
      }
    };
    const face = () => {
      const display = one(".chooser.display input:checked", sample);
      if (!display) return;
      for (const panel of all(".panel[data-panel]", sample)) panel.hidden = panel.dataset.panel !== display.value;
    };
    sample.addEventListener("change", () => { choose(); face(); });
    choose();
    face();
  }

  // The table's patches, all in one light.
  const tableLight = one("#table-light");
  if (tableLight) tableLight.addEventListener("change", () => {
    const index = Number(one("input:checked", tableLight).value);
    for (const half of all(".all [data-colours]")) {
      half.style.background = half.dataset.colours.split(" ")[index];
    }
  });

  // Copying works from disk too: by the clipboard, else by a selection, else by hand.
  const copyBySelection = (text, button) => {
    const area = document.createElement("textarea");
    area.value = text;
    area.setAttribute("readonly", "");
    area.style.position = "fixed";
    area.style.opacity = "0";
    document.body.append(area);
    area.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch { done = false; }
    area.remove();
    button.focus();
    return done;
  };
  for (const button of all(".copy")) button.addEventListener("click", async () => {
    const text = button.dataset.copy;
    let done = false;
    try {
      await navigator.clipboard.writeText(text);
      done = true;
    } catch {
      done = copyBySelection(text, button);
    }
    if (done) {
      tell("Copied " + text);
      button.textContent = "copied";
      setTimeout(() => { button.textContent = "copy"; }, 1500);
    } else {
      const range = document.createRange();
      range.selectNodeContents(button.parentElement.firstChild);
      const selection = getSelection();
      selection.removeAllRanges();
      selection.addRange(range);
      tell("Selected: press Ctrl C to copy " + text);
    }
  });

  // Sorting by a column: once upwards, twice downwards.
  const table = one("table.all");
  for (const button of all("thead button", table)) button.addEventListener("click", () => {
    const head = button.closest("th");
    const column = [...head.parentElement.children].indexOf(head);
    const down = head.getAttribute("aria-sort") === "ascending";
    for (const other of all("thead th[aria-sort]", table)) other.setAttribute("aria-sort", "none");
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    const numbers = button.dataset.sort === "number";
    const key = (row) => {
      const cell = row.children[column];
      return numbers ? Number(cell.dataset.key ?? -1) : cell.textContent.trim();
    };
    const order = new Intl.Collator(undefined, { numeric: true }).compare;
    const rows = all("tbody tr", table).map((row) => [key(row), row]);
    rows.sort((a, b) => (numbers ? a[0] - b[0] : order(a[0], b[0])) * (down ? -1 : 1));
    one("tbody", table).append(...rows.map((entry) => entry[1]));
  });

  // Filtering by words, verdict and display.
  const form = one(".filter");
  const filter = () => {
    const words = form.words.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    const status = form.status.value;
    const display = form.display ? form.display.value : "";
    const rows = all("tbody tr", table);
    let shown = 0;
    for (const row of rows) {
      const fits = words.every((word) => row.dataset.words.includes(word))
        && (!status || row.dataset.status === status)
        && (!display || row.dataset.display === display);
      row.hidden = !fits;
      shown += fits;
    }
    one("output", form).textContent = shown + " of " + rows.length + " rows";
  };
  form.addEventListener("input", filter);
  form.addEventListener("submit", (event) => event.preventDefault());
  filter();

  // A box that scrolls can be reached and scrolled with the keyboard; one that does not is no stop on the way.
  const boxes = () => {
    for (const box of all(".scroll")) {
      if (box.scrollWidth > box.clientWidth + 1) box.tabIndex = 0;
      else box.removeAttribute("tabindex");
    }
  };
  addEventListener("resize", boxes);
  document.addEventListener("toggle", boxes, true);
  boxes();

  // Folding; a link to a sample unfolds it.
  for (const button of all("[data-unfold]")) button.addEventListener("click", () => {
    for (const sample of all("details.sample")) sample.open = button.dataset.unfold === "all";
  });
  const unfold = (hash) => {
    const target = hash.length > 1 && document.getElementById(hash.slice(1));
    if (target && target.matches("details.sample")) {
      target.open = true;
      target.scrollIntoView();
    }
  };
  for (const link of all('a[href^="#sample-"]')) link.addEventListener("click", () => unfold(link.hash));
  addEventListener("hashchange", () => unfold(location.hash));
  unfold(location.hash);
})();
