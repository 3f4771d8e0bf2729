"""What the standard observers are called: here, by their field alone, before they were renamed, and in files.

A name that a person writes is held to be exact: :func:`standard_name`. What a file states was written by an
instrument, by another program or by an earlier version, in many spellings: :func:`stated_observer`.
"""

from __future__ import annotations

import re

from screenproof.errors import InputError, bad, nearest

STANDARD = {
    "cie1931": ("cie_1931_2", "CIE 1931, 2 degrees", 2.0),
    "cie1964": ("cie_1964_10", "CIE 1964, 10 degrees", 10.0),
    "cie2015-2": ("cie_2015_2", "CIE 2015, 2 degrees", 2.0),
    "cie2015-10": ("cie_2015_10", "CIE 2015, 10 degrees", 10.0),
}
"""Table of the curves, words and field in degrees of each standard observer."""

# The trade says "2 degrees" and "10 degrees" and means these two (CIE 15:2018).
BY_FIELD = {"2": "cie1931", "10": "cie1964"}

RENAMED = {"1931-2": "cie1931", "1964-10": "cie1964", "2015-2": "cie2015-2", "2015-10": "cie2015-10"}


def observer_names() -> tuple[str, ...]:
    """The standard observers: year of the standard, and field in degrees where one year has two."""
    return tuple(STANDARD)


def is_standard(name: str) -> bool:
    """Whether ``name`` means a standard observer, or meant one before they were renamed."""
    return any(name.strip() in names for names in (STANDARD, BY_FIELD, RENAMED))


def standard_name(name: str) -> str:
    """What ``name`` stands for: cie1931 for ``2``, cie1964 for ``10``, else the name as it is.

    >>> standard_name("10")
    'cie1964'
    """
    return BY_FIELD.get(name.strip(), name)


def no_observer(name: str) -> InputError:
    """The error for a ``name`` that no observer has: what it is called now, or the nearest that there is."""
    key = name.strip().lower()
    if key in RENAMED:
        return bad(f"the observer {key!r} is called {RENAMED[key]} now", mend=f"write {RENAMED[key]}")
    near = nearest(key, STANDARD, 0.3) or stated_observer(key)
    if not re.search(r"\d{3}", key):
        # '10 deg' is nearer to cie2015-10 by its letters, but it names a field and no year.
        near = stated_observer(key)
    mend = f"did you mean {near!r}?" if near else None
    if key.startswith(("age", "field")):
        mend = "write age=60,field=2"
    return bad(
        f"no observer is called {name!r}",
        expected=f"one of {', '.join(STANDARD)}, an eye such as age=60,field=2, or a file with a camera's "
        "three sensitivities",
        mend=mend,
    )


def stated_observer(text: str) -> str | None:
    """The standard observer that ``text`` of a file names, or None: 'cie1964', '10', 'OBSERVER, 10 deg', '1964',
    and '1964-10' of earlier versions.

    >>> stated_observer("CIE 2 degree"), stated_observer("2015-10"), stated_observer("me")
    ('cie1931', 'cie2015-10', None)
    """
    word = text.strip().strip("\"'").lower()
    if word in STANDARD:
        return word
    newer = "2015" in word or "2006" in word
    angle = re.search(r"(?<![\d.])(10|2)(?:\.0)?(?![\d.])", re.sub(r"\b(19|20)\d\d\b", " ", word))
    if angle is None:
        year = "1931" if "1931" in word else "1964" if "1964" in word else None
        return None if year is None else f"cie{year}"
    return f"cie2015-{angle[1]}" if newer else BY_FIELD[angle[1]]
