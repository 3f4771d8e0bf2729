"""The editions of ISO/CIE 11664 that the room's docstrings cite are those of the table of standards."""

from __future__ import annotations

import re
from pathlib import Path

import screenproof.appearance

ROOM = Path(screenproof.appearance.__file__).parent


def test_each_cited_edition_is_the_one_in_the_table(published):
    rows = published("iso_cie_11664")
    editions = {row["part"]: re.match(r"ISO/CIE 11664-\d:\d{4}", row["edition"])[0] for row in rows}
    cited = set()
    for path in ROOM.glob("*.py"):
        for name, part in re.findall(r"(ISO/CIE 11664-(\d):\d{4})", path.read_text(encoding="utf-8")):
            assert name == editions[part], path.name
            cited.add(part)
    assert cited == {"4", "5", "6"}
