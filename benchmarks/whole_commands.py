"""How long whole commands take, as processes: what a person waits for.

    python benchmarks/whole_commands.py

The least of several runs is given, for what else the machine does only adds. Ends with 1 when a command is slower
than its aim: ``screenproof --help`` 0.3 s, a match of 24 samples 2 s.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[1]
RUNS = 7


def invented_samples(path: Path) -> None:
    """24 invented reflectances, 380 to 730 nm by 10 nm, as a CSV file."""
    nm = np.arange(380, 731, 10)
    rng = np.random.default_rng(3)
    rows = ["name," + ",".join(str(w) for w in nm)]
    for i in range(24):
        band = 0.05 + rng.uniform(0.2, 0.7) * np.exp(-(((nm - rng.uniform(400, 700)) / rng.uniform(25, 90)) ** 2))
        rows.append(f"patch {i + 1}," + ",".join(f"{value:.4f}" for value in band))
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")


def least(command: list[str]) -> tuple[float, str]:
    """The least seconds of some runs, and what the last one printed."""
    seconds, printed = [], ""
    for _ in range(RUNS):
        start = time.perf_counter()
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
        seconds.append(time.perf_counter() - start)
        if done.returncode not in (0, 1):
            raise SystemExit(f"{' '.join(command)} ended with {done.returncode}:\n{done.stderr}")
        printed = done.stdout
    return min(seconds), printed


def main() -> int:
    slow = 0
    with tempfile.TemporaryDirectory() as folder:
        samples = Path(folder) / "patches.csv"
        invented_samples(samples)
        match = ["match", str(samples), "--display", "srgb", "--light", "D50", "--observer", "cie1931"]
        for words, aim in ((["--help"], 0.3), ([*match, "--basis", "white", "--bits", "8", "--json"], 2.0)):
            seconds, printed = least([sys.executable, "-m", "screenproof", *words])
            if "--json" in words and len(json.loads(printed)["samples"]) != 24:
                raise SystemExit("the match did not give 24 samples")
            shown = " ".join(word if word != str(samples) else "24 samples" for word in words)
            print(f"{seconds:6.2f} s  (aim {aim} s)  screenproof {shown}")
            slow += seconds > aim
    return 1 if slow else 0


if __name__ == "__main__":
    sys.exit(main())
