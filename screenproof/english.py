"""Numbers, counts and lists in English: the one place where they are put into words."""

from __future__ import annotations

from collections.abc import Sequence

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def fixed(value: float | None, digits: int = 2, minus: str = "-") -> str:
    """``value`` with so many decimals; a dash for None; no minus before a rounded nought.

    minus: the sign; a page has the true one, a terminal that of the keyboard.
    """
    if value is None:
        return "-"
    text = f"{value:.{digits}f}"
    if text.startswith("-") and not text.strip("-0."):
        text = text[1:]
    return text.replace("-", minus)


def against(figure: float, limit: float, digits: int = 1, minus: str = "-") -> str:
    """``figure`` with ``digits`` decimals, or one more where that shows on which side of ``limit`` it lies.

    What would take more is put into words: 'just over 3'.
    """
    for count in (digits, digits + 1):
        shown = float(f"{figure:.{count}f}")
        if (shown > limit) == (figure > limit):
            return fixed(figure, count, minus)
    return f"just {'over' if figure > limit else 'under'}\N{NO-BREAK SPACE}{limit:g}"


def number(count: int) -> str:
    """'three', '24'."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def counted(count: int, one: str, many: str | None = None) -> str:
    """'1 sample', '3 samples'."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def in_words(count: int, one: str, many: str | None = None) -> str:
    """'one sample', 'three samples', '24 samples'."""
    return f"{number(count)} {one if count == 1 else many or one + 's'}"


def listed(names: Sequence[str], most: int | None = None, last: str = "and") -> str:
    """'a, b and c'; with ``most``, 'a, b, c, d and 3 more'."""
    shown = list(names[:most])
    if len(names) > len(shown):
        shown.append(f"{len(names) - len(shown)} more")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} {last} {shown[-1]}" if shown else ""


def capital(text: str) -> str:
    """``text`` with its first letter large."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """``text`` with a capital in front and a full stop behind; '' stays ''."""
    text = text.strip()
    return capital(text) + ("" if text[-1] in ".!?:" else ".") if text else ""


def page_colour(rgb: Sequence[float]) -> str:
    """sRGB 0..1 as '#rrggbb'; what lies outside is cut to the page's own gamut."""
    return "#" + "".join(f"{round(255 * min(1.0, max(0.0, part))):02x}" for part in rgb)
