"""A job of the invented print shop of tests/ink_scenes.py: its file, and the folder that it runs in."""

from __future__ import annotations

from pathlib import Path

from tests.ink_scenes import write_shop

JOB = """\
version = 1
title = "Caddies"
note = "Invented."

[viewing]
light = "D50"

[[samples]]
file = "inks.csv"
group = "board"

[[samples]]
file = "kraft.csv"
group = "kraft"

[[samples]]
file = "target.csv"
group = "lid"

[[displays]]
name = "studio"
standard = "srgb"

[[lights]]
name = "shop"
standard = "FL11"

[[approvals]]
name = "Leaf"
display = "studio"
code = [120, 150, 105]

[[approvals]]
name = "Neon"
display = "studio"
code = [0, 255, 60]

[[approvals]]
name = "By hand"
sample = "Lid"

[[stocks]]
name = "board"
sample = "Board"

[[stocks]]
name = "kraft"
sample = "Kraft"
label = "Brown kraft"

[[inks]]
name = "process"
stock = "board"
inks = ["Cyan", "Magenta", "Yellow"]
onto = ["kraft"]
trapping = true

[[presses]]
name = "sheetfed"
label = "The sheetfed press"
file = "press.csv"
total = 300
limits = { Black = 95 }
samples = ["board/Cyan", "board/Yellow"]

[[recipes]]
name = "lid"
library = "letdowns.csv"
sample = "Lid"
batch = 10

[[recipes]]
name = "leaf"
library = "letdowns.csv"
approval = "Leaf"
components = 3
count = 2

[tolerances.house]
printable = 2.0
recipe = 1.0
pair_shift = 1.0

[output]
patches = "none"
"""


def write_job(folder: Path, text: str = JOB) -> Path:
    """The job and all its files in a folder."""
    write_shop(folder)
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path
