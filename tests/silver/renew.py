"""Renew the silver files, and say what changed: ``make silver``, or ``python -m tests.silver.renew``.

With ``--check`` nothing is written: what differs, to the last bit, is said, with exit code 1.
"""

from __future__ import annotations

import json
import sys
from difflib import unified_diff

# Its threads are those of the tests: sums in another order differ in their last bits.
import tests.conftest  # noqa: F401
from tests.silver.silver import FILES, Content, differences, drop, groups, keep, kept, text_of

MOST = 40
"""Lines that are told of a file."""


def changes(old: str, new: Content, *, exact: bool) -> list[str]:
    """What differs from the text of a file, a line each; none if nothing does."""
    if isinstance(new, str):
        return list(unified_diff(old.splitlines(), new.splitlines(), "old", "new", lineterm="", n=0))
    found = differences(json.loads(old), new, exact=exact)
    return [f"{path}: {_short(one)} -> {_short(other)}" for path, one, other in found]


def first(lines: list[str]) -> str:
    """The first of the lines, moved in, and how many more there are."""
    more = [f"... and {len(lines) - MOST} lines more"] if len(lines) > MOST else []
    return "".join(f"    {line}\n" for line in [*lines[:MOST], *more])


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 100 else f"{text[:97]}..."


def main() -> None:
    write, same, other = sys.argv[1:] != ["--check"], 0, 0
    for group, make in groups().items():
        made = make()
        for name in sorted(kept(group) - set(made)):
            print(f"gone: {group}/{name}")
            other += 1
            if write:
                drop(FILES / group / name)
        for name, content in made.items():
            path = FILES / group / name
            if name not in kept(group):
                print(f"new: {group}/{name}")
            elif lines := changes(text_of(path), content, exact=True):
                print(f"changed: {group}/{name}\n{first(lines)}", end="")
            else:
                same += 1
                continue
            other += 1
            if write:
                keep(path, content)
    print(f"{same} files the same to the last bit, {other} not")
    sys.exit(not write and other > 0)


if __name__ == "__main__":
    main()
