"""The scale of drive values in a file of readings: stated, or told from the numbers and said."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from screenproof.errors import Note
from screenproof.formats._stated import Found
from screenproof.formats._text import Problems, number
from screenproof.spectra import Array

TOPS = (255.0, 1023.0, 4095.0, 65535.0)
"""Highest codes at 8, 10, 12 and 16 bits."""

_RANGE = re.compile(r"\b0\s*(?:\.\.\.?|to|-|–|…)\s*(?P<top>1|100|255|1023|4095|65535)(?:\.0*)?(?![\d.])")


def drives(
    raw: Array,
    found: Found,
    prose: Sequence[str],
    lines: Sequence[int],
    problems: Problems,
    notes: list[Note],
) -> Array:
    """Drive values (n, 3) in 0..1 of the numbers in a file.

    found: what the file states (``bits``, ``device_scale``). prose: its comments, in which a range such as
    '0..255' or the word percent beside 'drive' or 'R, G, B' states the scale too. lines: of the rows.
    What is wrong goes to ``problems``, what was assumed to ``notes``.
    """
    scale = _stated(found, problems)
    if scale is None:
        scale = _in_prose(prose)
    known = raw[np.isfinite(raw)]  # cells that are no numbers have been told already
    if not known.size:
        return raw
    if scale is None:
        scale = _told(known)
        shown = {1.0: "0..1", 100.0: "percent"}.get(scale, f"codes 0..{scale:.0f}")
        notes.append(
            Note(
                "assumed",
                f"the scale of the drive values is not stated; up to {known.max():g}, they are taken for {shown}",
                file=problems.file,
                mend="state '# bits: 8', or '# device_scale: 255'",
            )
        )
    wrong = (raw < -1e-9 * scale) | (raw > scale * (1.0 + 1e-9))
    for i in np.flatnonzero(wrong.any(axis=1)).tolist():
        worst = raw[i, int(np.argmax(wrong[i]))]
        problems.add(
            f"a drive value of {worst:g} on a scale of 0 to {scale:g}",
            line=lines[i],
            expected=f"0 to {scale:g}",
            mend="correct it, or state '# bits:' or '# device_scale:'",
        )
    result: Array = np.clip(raw / scale, 0.0, 1.0)
    return result


def _stated(found: Found, problems: Problems) -> float | None:
    bits, scale = found.get("bits"), found.get("device_scale")
    if bits is not None:
        value = number(re.sub(r"(?i)[\s-]*bits?\Z", "", bits[0]))
        if value is not None and value == round(value) and 1 <= value <= 16:
            return float(2 ** int(value) - 1)
        problems.add(
            f"bits is {bits[0]!r}", line=bits[1], expected="a whole number from 1 to 16", mend="state '# bits: 8'"
        )
        return 1.0
    if scale is None:
        return None
    word = scale[0].strip().lower()
    if "percent" in word or word == "%":
        return 100.0
    ranged = _RANGE.search(word)
    top = float(ranged["top"]) if ranged is not None else number(word)
    if top is not None and 0 < top <= 65535:
        return top
    problems.add(
        f"the scale of the drive values is {scale[0]!r}",
        line=scale[1],
        expected="the highest value: 1, 100, 255, 1023, 4095 or 65535",
        mend="state '# device_scale: 255'",
    )
    return 1.0


def _in_prose(prose: Sequence[str]) -> float | None:
    """The scale that a comment on the drive values tells in words; None when none does, or two differ."""
    told = set()
    for line in prose:
        if re.search(r"(?i)\b(drives?|codes?|rgb|r\s*,\s*g\s*,\s*b|device|digital)\b", line) is None:
            continue
        ranged = _RANGE.search(line)
        # 'RGB OLED, 10 bit' speaks of the panel, not of what was sent to it.
        coded = re.search(r"(?i)\b(drives?|codes?|digital)\b", line) is not None
        bits = re.search(r"(?i)\b(8|10|12|16)[\s-]*bits?\b", line) if coded else None
        if ranged is not None:
            told.add(float(ranged["top"]))
        elif bits is not None:
            told.add(float(2 ** int(bits[1]) - 1))
        elif coded and re.search(r"(?i)\bpercent\b|%", line) is not None:
            told.add(100.0)
    return told.pop() if len(told) == 1 else None


def _told(raw: Array) -> float:
    """The scale on which the numbers make sense: 0..1, percent, or the fewest bits that hold the codes."""
    highest = float(raw.max())
    whole = bool(np.all(raw == np.round(raw)))
    if highest <= 1.0 + 1e-9:
        return 1.0
    if abs(highest - 100.0) < 1e-9 or (highest < 100.0 and not whole):
        return 100.0
    return next((top for top in TOPS if highest <= top), TOPS[-1])
