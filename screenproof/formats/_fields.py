"""What the column names of measurement files mean, in the spellings of ISO 28178, CGATS.17 and plain CSV."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from screenproof.errors import nearest
from screenproof.formats._text import Problems

_BAND = re.compile(
    r"(?P<head>SPECTRAL[ _]?(?:NM|DEC|PCT)|SPECTRAL|SPEC|NM|WL|WAVELENGTH|LAMBDA|REFLECTANCE|REFL|R|W)?"
    r"[ _]?(?P<nm>\d{3,4}(?:[.,]\d+)?)[ _]?(?:NM)?\Z"
)
_NCLR = re.compile(r"(?P<count>\d{1,2})CLR_(?P<index>\d{1,2})\Z")

NAME_FIELDS = frozenset(
    "SAMPLE_NAME SAMPLENAME NAME SAMPLE LABEL PATCH PATCH_NAME COLOUR COLOR COLOUR_NAME COLOR_NAME INK".split()
)
ID_FIELDS = frozenset("SAMPLE_ID SAMPLEID ID SAMPLE_LOC SAMPLE_NUMBER NO NR NUMBER PATCH_ID INDEX".split())
READINGS_FIELDS = frozenset("READINGS NUMBER_OF_READINGS N_READINGS".split())
REPEATABILITY_FIELDS = frozenset("REPEATABILITY REPEATABILITY_SD".split())
WAVELENGTH_FIELDS = frozenset(
    "NM WAVELENGTH WAVELENGTHS WAVELENGTH_NM WAVE_LENGTH WL LAMBDA LAMBDA_NM SPECTRAL_NM".split()
)

_TRIPLES: dict[str, tuple[tuple[str, ...], ...]] = {
    "xyz": (("XYZ_X", "XYZ_Y", "XYZ_Z"), ("X", "Y", "Z")),
    "lab": (("LAB_L", "LAB_A", "LAB_B"), ("L*", "A*", "B*"), ("L", "A", "B")),
    "xyy": (("XYY_X", "XYY_Y", "XYY_CAPY"),),
    "lch": (("LAB_L", "LAB_C", "LAB_H"), ("LCH_L", "LCH_C", "LCH_H"), ("L*", "C*", "H")),
}
_DEVICES: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = (
    (("RGB_R", "RGB_G", "RGB_B"), ("R", "G", "B")),
    (("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"), ("C", "M", "Y", "K")),
    (("CMY_C", "CMY_M", "CMY_Y"), ("C", "M", "Y")),
    (("R", "G", "B"), ("R", "G", "B")),
    (("RED", "GREEN", "BLUE"), ("R", "G", "B")),
    (("C", "M", "Y", "K"), ("C", "M", "Y", "K")),
)


def plain(name: str) -> str:
    """A column name without quotes, case and spacing: ``'"Sample name"'`` gives ``SAMPLE_NAME``."""
    name = name.strip().strip('"').strip().upper()
    name = re.sub(r"\s*[(\[].*[)\]]\Z", "", name)
    return re.sub(r"[\s\-]+", "_", name)


def band_nm(name: str) -> float | None:
    """The wavelength in nm that a column name states, or None: ``400``, ``nm400``, ``SPECTRAL_NM_400``..."""
    match = _BAND.match(plain(name))
    if match is None:
        return None
    nm = float(match["nm"].replace(",", "."))
    return nm if 200.0 <= nm <= 2500.0 else None


@dataclass(frozen=True)
class Fields:
    """Which column holds what. Indices count columns from 0."""

    names: tuple[str, ...]
    name: int | None = None
    identifier: int | None = None
    bands: tuple[tuple[float, int], ...] = ()
    pairs: tuple[tuple[int, int], ...] = ()
    unit: str | None = None
    xyz: tuple[int, ...] | None = None
    lab: tuple[int, ...] | None = None
    xyy: tuple[int, ...] | None = None
    lch: tuple[int, ...] | None = None
    channels: tuple[str, ...] = ()
    device: tuple[int, ...] = ()
    readings: int | None = None
    repeatability: int | None = None
    ignored: tuple[str, ...] = field(default=())

    @property
    def is_spectral(self) -> bool:
        """Whether there are columns with spectra."""
        return bool(self.bands or self.pairs)

    @property
    def is_colorimetric(self) -> bool:
        """Whether there are columns with tristimulus values or coordinates made of them."""
        return any(triple is not None for triple in (self.xyz, self.lab, self.xyy, self.lch))


def classify(
    names: Sequence[str], problems: Problems, *, line: int | None = None, channels: Sequence[str] = ()
) -> Fields:
    """What the columns called ``names`` hold. Contradictions, such as one name twice, go to ``problems``.

    ``channels``: the columns that the file says hold tints, if it says so; they are taken before all others.
    """
    known = [plain(name) for name in names]
    used: set[int] = set()
    stated = _stated_channels(known, names, channels, used, problems, line) if channels else None

    pairs, pair_unit = _pairs(known, used)
    bands: list[tuple[float, int]] = []
    units = {pair_unit} if pair_unit else set()
    for index, name in enumerate(known):
        if index in used:
            continue
        nm = band_nm(name)
        if nm is not None:
            bands.append((nm, index))
            used.add(index)
            if "DEC" in name or "PCT" in name:
                units.add("percent" if "PCT" in name else "fraction")
    if len(units) > 1:
        problems.add(
            "some bands are decimal (DEC), others percent (PCT)",
            line=line,
            expected="one unit for all bands",
            mend="convert the bands to one unit",
        )

    _twice(known, used, problems, line)
    found = {what: _first_set(known, sets, used) for what, sets in _TRIPLES.items()}
    tinted, device = _device(known, used, problems, line) if stated is None else stated
    name_column = next((i for i, name in enumerate(known) if name in NAME_FIELDS and i not in used), None)
    id_column = next((i for i, name in enumerate(known) if name in ID_FIELDS and i not in used), None)
    readings, repeatability = (
        next((i for i, name in enumerate(known) if name in words and i not in used), None)
        for words in (READINGS_FIELDS, REPEATABILITY_FIELDS)
    )
    used.update(column for column in (name_column, id_column, readings, repeatability) if column is not None)
    return Fields(
        names=tuple(name.strip() for name in names),
        name=name_column,
        identifier=id_column,
        bands=tuple(bands),
        pairs=tuple(pairs),
        unit=next(iter(units), None),
        xyz=found["xyz"],
        lab=found["lab"],
        xyy=found["xyy"],
        lch=found["lch"],
        channels=tinted,
        device=device,
        readings=readings,
        repeatability=repeatability,
        ignored=tuple(names[i].strip() for i in range(len(names)) if i not in used),
    )


def _stated_channels(
    known: list[str],
    names: Sequence[str],
    channels: Sequence[str],
    used: set[int],
    problems: Problems,
    line: int | None,
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The columns called ``channels``, in that order; each that is not there or stands twice is a problem."""
    found = []
    for place, channel in enumerate(channels):
        word = plain(channel)
        if [plain(other) for other in channels[:place]].count(word):
            problems.add(
                f"the channel {channel!r} is stated twice", line=line, field="channels", mend="name it once"
            )
        elif word in known:
            found.append(known.index(word))
        else:
            near = nearest(word, known)
            problems.add(
                f"no column is called {channel!r}, which is stated as a channel",
                line=line,
                field="channels",
                expected=f"columns such as {', '.join(name.strip() for name in names[:8])}",
                mend=f"did you mean {names[known.index(near)].strip()!r}?" if near else "correct '# channels:'",
            )
    used.update(found)
    return tuple(short_channel(names[i].strip().strip('"')) for i in found), tuple(found)


def short_channel(name: str) -> str:
    """The name of a channel without what the standard puts before it: ``CMYK_C`` gives ``C``."""
    return re.sub(r"(?i)\A(?:cmyk|cmy|rgb)_", "", name)


def _pairs(known: list[str], used: set[int]) -> tuple[list[tuple[int, int]], str | None]:
    """Columns that repeat as wavelength and value: SPECTRAL_NM SPECTRAL_DEC, or SPECTRAL_PCT."""
    pairs = []
    unit = None
    for index in range(len(known) - 1):
        following = known[index + 1]
        if known[index] == "SPECTRAL_NM" and following in ("SPECTRAL_DEC", "SPECTRAL_PCT"):
            pairs.append((index, index + 1))
            used.update((index, index + 1))
            unit = "percent" if following == "SPECTRAL_PCT" else "fraction"
    return pairs, unit


def _twice(known: list[str], used: set[int], problems: Problems, line: int | None) -> None:
    for name in sorted({name for i, name in enumerate(known) if name and i not in used}):
        places = [i + 1 for i, other in enumerate(known) if other == name]
        if len(places) > 1:
            problems.add(
                f"the column name {name} stands {len(places)} times (columns {', '.join(map(str, places))})",
                line=line,
                expected="every column name once",
                mend="rename or remove one of them",
            )


def _first_set(known: list[str], sets: tuple[tuple[str, ...], ...], used: set[int]) -> tuple[int, ...] | None:
    for names in sets:
        if all(name in known for name in names):
            indices = tuple(known.index(name) for name in names)
            # LAB_L serves both L a b and L C h.
            if any(i in used and known[i] not in ("LAB_L", "L*") for i in indices):
                continue
            used.update(indices)
            return indices
    return None


def _device(
    known: list[str], used: set[int], problems: Problems, line: int | None
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    for names, channels in _DEVICES:
        if all(name in known and known.index(name) not in used for name in names):
            indices = tuple(known.index(name) for name in names)
            used.update(indices)
            return channels, indices
    many = {
        int(match["index"]): index for index, name in enumerate(known) if (match := _NCLR.match(name)) is not None
    }
    if not many:
        return (), ()
    count = next(int(m["count"]) for name in known if (m := _NCLR.match(name)) is not None)
    missing = [f"{count}CLR_{i}" for i in range(1, count + 1) if i not in many]
    if missing or len(many) != count:
        problems.add(
            f"a device colour of {count} channels, but {len(many)} columns of it",
            line=line,
            expected=f"{count}CLR_1 to {count}CLR_{count}",
            mend=f"add {', '.join(missing)}" if missing else "remove the columns that are too many",
        )
        return (), ()
    used.update(many.values())
    return tuple(f"{i}" for i in range(1, count + 1)), tuple(many[i] for i in range(1, count + 1))
