"""Silver: our own output, kept so that a change of it is noticed. It is not truth: that is the gold of shared/.

Asked are all commands of the documents' console blocks, as written and with ``--json``, and the four jobs of the
demo. The JSON of a job in the demo's folder is its ``result.json``. What is new in every run (time, versions,
folder) is replaced by a mark. Numbers that come from iterative searches may differ on another processor or with
other versions of the libraries by more than is let pass here: then renew the files before the change, and look
after it.
"""

from __future__ import annotations

import gzip
import json
import math
import re
import shlex
import shutil
from collections.abc import Callable, Iterator
from functools import cache, partial
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from tests.demo.pages import PAGES, TOP, Done, Ran, Step, copy_of_the_demo, ran_page, run

FILES = Path(__file__).parent / "files"
JOBS = ("packaging", "product_shots", "stage_set", "ink_side")
COMPRESSED_FROM = 150_000
"""Bytes above which a file is kept compressed."""

Content = str | dict[str, Any] | list[Any]

_WHEN = re.compile(r"\d{4}-\d\d-\d\dT[0-9:.]+(?:Z|[+-]\d\d:\d\d)")
_DAY = re.compile(r"\bmade \d{1,2} [A-Z][a-z]+ \d{4}\b")


def groups() -> dict[str, Callable[[], dict[str, Content]]]:
    """What makes the files of a folder, by its name: one for every page and every job."""
    pages = {"-".join(page.relative_to(TOP).with_suffix("").parts): partial(of_page, page) for page in PAGES}
    return pages | {f"job-{name}": partial(of_job, name) for name in JOBS}


def of_page(page: Path) -> dict[str, Content]:
    """What the commands of a page give, by the name of the file that keeps it."""
    ran, names = _whole(page), list[str]()
    found: dict[str, Content] = {}
    for step in ran.steps:
        own = slug(step.command)
        names.append(own)
        name = own if names.count(own) == 1 else f"{own}-{names.count(own)}"
        answer = json_of(step, ran.folder)
        done = step.done
        if "--json" in shlex.split(step.command):
            done = Done(done.returncode, f"the JSON of {name}.json\n", done.stderr)
        found[f"{name}.txt"] = marked(console(step.command, done), ran.folder)
        if answer is not None:
            found[f"{name}.json"] = marked(answer, ran.folder)
    return found


def of_job(name: str) -> dict[str, Content]:
    """What a job of the demo gives, by the name of the file that keeps it."""
    command = f"screenproof run profiles_demo/{name}.toml"
    done, folder = _ran_job(command)
    out = folder / "profiles_demo" / "out" / name
    result = json.loads((out / "result.json").read_text(encoding="utf-8"))
    page = visible_text((out / "index.html").read_text(encoding="utf-8"))
    for package, version in result["provenance"]["versions"].items():
        page = page.replace(f"{package} {version}", f"{package} <version>")
    found: dict[str, Content] = {
        "console.txt": console(command, done),
        "result.json": result,
        "drive_values.csv": (out / "drive_values.csv").read_text(encoding="utf-8"),
        "index.txt": page,
    }
    return {key: marked(content, folder) for key, content in found.items()}


def _whole(page: Path) -> Ran:
    ran = ran_page(page)
    if ran.error is not None:
        raise ran.error
    return ran


@cache
def _ran_job(command: str) -> tuple[Done, Path]:
    """How the command of a job ended, and where; by the page that has it, if one has."""
    for page in PAGES:
        if f"$ {command}\n" in page.read_text(encoding="utf-8"):
            ran = _whole(page)
            return next((step.done, ran.folder) for step in ran.steps if step.command == command)
    folder = copy_of_the_demo()
    return run(command, folder), folder


def json_of(step: Step, folder: Path) -> Content | None:
    """The JSON of a command that ran in ``folder``; None where its input cannot be used, and for the jobs."""
    words = shlex.split(step.command, comments=True)
    if step.done.returncode == 2:
        return None
    if words[1] == "run" and words[2].startswith("profiles_demo/"):
        # The four jobs have files of their own; another is not run again beside what others wrote since.
        written = re.search(r"^written: (.+)/index.html$", step.done.stdout, re.MULTILINE)
        assert written is not None, step.done
        known = Path(words[2]).stem in JOBS
        return None if known else json.loads((folder / written[1] / "result.json").read_text(encoding="utf-8"))
    if "--json" in words:
        return json.loads(step.done.stdout)
    if words[1] == "new":
        shutil.rmtree(folder / words[2])
    again = run(shlex.join([*words, "--json", *(["--force"] if "-o" in words else [])]), folder)
    assert again.returncode == step.done.returncode, f"{step.command} --json\n{again.stderr}"
    return json.loads(again.stdout)


def slug(command: str) -> str:
    """A name for the files of a command: its words without folders and marks, not too many of them."""
    words = [word.rpartition("/")[2] for word in shlex.split(command, comments=True)[1:]]
    return re.sub(r"[^\w.]+", "-", " ".join(words)).strip("-.").lower()[:70].rstrip("-.")


def console(command: str, done: Done) -> str:
    parts = [f"$ {command}", f"exit {done.returncode}"]
    for title, text in (("standard output", done.stdout), ("standard error", done.stderr)):
        parts += [f"--- {title}", text.rstrip("\n")] if text else []
    return "\n".join(parts) + "\n"


def marked(content: Any, folder: Path) -> Any:
    """The content with marks for what is new in every run."""
    if isinstance(content, dict):
        return {
            key: dict.fromkeys(value, "<version>") if key == "versions" else marked(value, folder)
            for key, value in content.items()
        }
    if isinstance(content, list):
        return [marked(value, folder) for value in content]
    if isinstance(content, str):
        plain = content.replace(str(folder), "<folder>").replace(folder.as_posix(), "<folder>")
        return _DAY.sub("made <day>", _WHEN.sub("<when>", plain))
    return content


class _Visible(HTMLParser):
    """The text of a page, a block a line; the cells of a row, and a term and its value, are set apart by bars."""

    INLINE = frozenset("a abbr b bdi code em i output small span strong sub sup time tspan u var".split())
    CELLS = frozenset(("td", "th", "dd"))
    HIDDEN = frozenset(("script", "style"))

    def __init__(self) -> None:
        super().__init__()
        self.lines, self.hidden = [""], 0

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.hidden += tag in self.HIDDEN
        if tag in self.CELLS:
            self.lines[-1] += " | " if self.lines[-1].strip() else ""
        elif tag not in self.INLINE:
            self.lines.append("")

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in self.HIDDEN
        # A value stands beside its term, and a cell beside the one before it.
        if tag not in self.INLINE | self.CELLS | {"dt"}:
            self.lines.append("")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.lines[-1] += data


def visible_text(html: str) -> str:
    parser = _Visible()
    parser.feed(html)
    parser.close()
    folded = (" ".join(line.split()) for line in parser.lines)
    return "\n".join(line for line in folded if line) + "\n"


def as_text(content: Content) -> str:
    return content if isinstance(content, str) else json.dumps(content, indent=1, ensure_ascii=False) + "\n"


def kept(group: str) -> set[str]:
    """Names of the files of a group, without the suffix of compression."""
    return {path.name.removesuffix(".gz") for path in (FILES / group).glob("*")}


def text_of(path: Path) -> str:
    """Text of a file, be it compressed or not; ``path`` with or without the suffix of compression."""
    if path.suffix != ".gz" and not path.exists():
        path = path.with_name(path.name + ".gz")
    raw = path.read_bytes()
    return (gzip.decompress(raw) if path.suffix == ".gz" else raw).decode("utf-8")


def keep(path: Path, content: Content) -> None:
    """Write a file, compressed if it is long."""
    raw = as_text(content).encode("utf-8")
    drop(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    if len(raw) > COMPRESSED_FROM:
        path.with_name(path.name + ".gz").write_bytes(gzip.compress(raw, 9, mtime=0))
    else:
        path.write_bytes(raw)


def drop(path: Path) -> None:
    for own in (path, path.with_name(path.name + ".gz")):
        own.unlink(missing_ok=True)


def _alike(old: Any, new: Any, exact: bool) -> bool:
    if type(old) is not type(new):
        return False
    if isinstance(old, float) and not exact:
        return math.isclose(old, new, rel_tol=1e-9, abs_tol=1e-12)
    return repr(old) == repr(new)


def differences(old: Any, new: Any, *, exact: bool, path: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Key paths at which JSON differs, with the old and the new value; a name stands beside the place of a row."""
    if isinstance(old, dict) and isinstance(new, dict):
        if list(old) != list(new):
            lost, more = [key for key in old if key not in new], [key for key in new if key not in old]
            yield (f"{path} (keys)", lost, more) if lost or more else (f"{path} (order)", list(old), list(new))
        for key in old:
            if key in new:
                yield from differences(old[key], new[key], exact=exact, path=f"{path}.{key}".lstrip("."))
    elif isinstance(old, list) and isinstance(new, list):
        if len(old) != len(new):
            yield f"{path} (length)", len(old), len(new)
        for i, (one, other) in enumerate(zip(old, new, strict=False)):
            name = f" {one['name']}" if isinstance(one, dict) and isinstance(one.get("name"), str) else ""
            yield from differences(one, other, exact=exact, path=f"{path}[{i}{name}]")
    elif not _alike(old, new, exact):
        yield path, old, new
