"""The answer to a whole job as plain data: JSON is the truth, the page is a view of it.

Every class here is frozen and holds only strings, numbers, tuples and dicts, so that a result written today
reads back the same tomorrow. The JSON has the keys of the fields, with one exception: a pair's ``from_`` is
written ``from``. The version stands in ``schema``; a reader refuses a version that it does not know.

Scales: drive values and sRGB 0..1; codes are integers at the stated bit depth; ``xyz`` of objects has the
perfect diffuser at Y = 100; ``lab``, ``lch`` relative to the white of the viewing light; ``uv`` is CIE 1976
u'v'; luminances in cd/m2, illuminances in lx, wavelengths in nm.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from typing import Any

from screenproof.errors import InputError, Note, bad
from screenproof.proof.doubt_records import (
    BrightenerLight,
    BrightenerRecord,
    DoubtRecord,
    DoubtSource,
    WholeFigure,
    WholeRecord,
)
from screenproof.proof.eye_records import (
    AgeRecord,
    CrowdOnDisplay,
    CrowdRecord,
    PopulationRecord,
    TrustRecord,
)
from screenproof.proof.finding import Finding
from screenproof.proof.ink_records import (
    Codes,
    ComponentRecord,
    Curve,
    HeldOutRecord,
    InkRecord,
    OverprintRecord,
    Pair,
    PressRecord,
    PrintRecord,
    ReachRecord,
    RecipeCard,
    RecipeRecord,
    RecipeShift,
    SolidRecord,
    StockRecord,
    Triple,
)
from screenproof.proof.judged import Remedy
from screenproof.proof.scene_records import (
    DisplayRecord,
    LightRecord,
    ObserverRecord,
    StandardGamut,
    ViewingRecord,
)
from screenproof.proof.tolerance import Judged, Status, ToleranceSet

SCHEMA = "screenproof-result/2"

__all__ = [
    "SCHEMA",
    "AgeRecord",
    "ApprovalRecord",
    "BrightenerLight",
    "BrightenerRecord",
    "Codes",
    "ComponentRecord",
    "CrowdOnDisplay",
    "CrowdRecord",
    "Curve",
    "DisplayRecord",
    "DoubtRecord",
    "DoubtSource",
    "Finding",
    "HeldOutRecord",
    "InkRecord",
    "InputRecord",
    "LightRecord",
    "ObserverRecord",
    "OnDisplay",
    "OverprintRecord",
    "Pair",
    "PairFigure",
    "PairRecord",
    "PairStart",
    "PopulationRecord",
    "PressRecord",
    "PrintRecord",
    "Provenance",
    "ReachRecord",
    "RecipeCard",
    "RecipeRecord",
    "RecipeShift",
    "Refusal",
    "Remedy",
    "Result",
    "SampleRecord",
    "ShiftFigure",
    "SolidRecord",
    "StandardGamut",
    "StockRecord",
    "Summary",
    "Triple",
    "TrustRecord",
    "TwoCurves",
    "ViewingRecord",
    "WholeFigure",
    "WholeRecord",
    "result_from_json",
    "result_to_dict",
    "result_to_json",
]


@dataclass(frozen=True)
class TwoCurves:
    """The object's and the screen's light over wavelengths [nm], both scaled to the same luminance."""

    wavelengths: tuple[float, ...]
    object: tuple[float, ...]
    screen: tuple[float, ...]


@dataclass(frozen=True)
class ShiftFigure:
    """How far apart two stimuli are in one light for one observer: CIEDE2000, CIE 1976, CAM16-UCS, words."""

    light: str
    observer: str
    de00: float
    deab: float
    cam16ucs: float
    words: str = ""


@dataclass(frozen=True)
class PairFigure:
    """A pair's difference in a test light: corrected for its difference under the first light, and raw."""

    light: str
    observer: str
    de00: float
    deab: float
    de00_uncorrected: float
    deab_uncorrected: float
    words: str = ""


@dataclass(frozen=True)
class Refusal:
    """What was not calculated, and why. ``observer`` None: for every observer."""

    reason: str
    observer: str | None = None


@dataclass(frozen=True)
class OnDisplay:
    """One sample on one display: its drive values, what they show, what is left, and how it holds."""

    display: str
    drive: Triple
    code: Codes
    bits: int
    in_gamut: bool
    excess: float
    direction: str
    residual: float
    suffices: tuple[str, ...]
    shown_lab: Triple
    shown_srgb: Triple
    spectra: TwoCurves | None = None
    shift: tuple[ShiftFigure, ...] = ()
    refused: tuple[Refusal, ...] = ()
    verdicts: tuple[Judged, ...] = ()
    status: Status = "not judged"
    crowd: CrowdRecord | None = None


@dataclass(frozen=True)
class SampleRecord:
    """One sample: what it is, what it looks like, and how it does on every display.

    ``patch`` holds, by light, the sRGB 0..1 of the object in that light for the page (CAT16 to the viewing
    white). ``refused`` says why there is no light shift.
    """

    name: str
    group: str
    source: str
    stock: str | None
    spectral: bool
    xyz: Triple
    lab: Triple
    lch: Triple
    uv: Pair
    patch: dict[str, Triple] = field(default_factory=dict)
    reflectance: Curve | None = None
    light_shift: tuple[ShiftFigure, ...] = ()
    refused: tuple[Refusal, ...] = ()
    verdicts: tuple[Judged, ...] = ()
    on: tuple[OnDisplay, ...] = ()
    notes: tuple[Note, ...] = ()
    status: Status = "not judged"
    reason: str = ""
    brightener: BrightenerRecord | None = None


@dataclass(frozen=True)
class ApprovalRecord:
    """A colour that somebody approved on a display, against the measured sample that is to be it."""

    name: str
    display: str
    sample: str
    code: Codes
    bits: int
    de00: float
    deab: float
    words: str
    approved_lab: Triple
    sample_lab: Triple
    approved_srgb: Triple
    sample_srgb: Triple
    verdict: Judged | None = None


@dataclass(frozen=True)
class PairStart:
    """How well a pair matches under the first light."""

    light: str
    observer: str
    de00: float
    deab: float


@dataclass(frozen=True)
class PairRecord:
    """A pair of samples that should match under the first light, followed through the others.

    ``from_`` has one entry per observer, as the shifts have.
    """

    name: str
    a: str
    b: str
    from_: tuple[PairStart, ...]
    correction: str
    shift: tuple[PairFigure, ...] = ()
    refused: tuple[Refusal, ...] = ()
    verdicts: tuple[Judged, ...] = ()
    status: Status = "not judged"
    crowd: tuple[CrowdRecord, ...] = ()


@dataclass(frozen=True)
class Summary:
    """The verdict of the job: how many colours have each status, the sentence that counts them, and those of the
    findings, trouble first. ``status`` is the worst of the colours and of the sets judged as a whole."""

    status: Status = "not judged"
    counts: dict[str, int] = field(default_factory=dict)
    first: str = ""
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class InputRecord:
    """A file that went in: the path as the job names it, SHA-256 in hex, size in bytes."""

    path: str
    sha256: str
    bytes: int


@dataclass(frozen=True)
class Provenance:
    """Where the numbers come from."""

    inputs: tuple[InputRecord, ...] = ()
    versions: dict[str, str] = field(default_factory=dict)
    standards: tuple[str, ...] = ()
    formulae: tuple[str, ...] = ()


@dataclass(frozen=True)
class Result:
    """The answer to a whole job. ``made`` is an ISO 8601 time with its zone.

    The ink side (``stocks`` to ``recipes``, see :mod:`.ink_records`) is empty for a job that prints nothing.
    """

    title: str
    note: str
    made: str
    viewing: ViewingRecord
    lights: tuple[LightRecord, ...]
    observers: tuple[ObserverRecord, ...]
    displays: tuple[DisplayRecord, ...]
    standard_gamuts: tuple[StandardGamut, ...]
    samples: tuple[SampleRecord, ...]
    approvals: tuple[ApprovalRecord, ...] = ()
    pairs: tuple[PairRecord, ...] = ()
    summary: Summary = field(default_factory=Summary)
    tolerances: dict[str, ToleranceSet] = field(default_factory=dict)
    provenance: Provenance = field(default_factory=Provenance)
    cautions: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()
    stocks: tuple[StockRecord, ...] = ()
    overprints: tuple[OverprintRecord, ...] = ()
    presses: tuple[PressRecord, ...] = ()
    reach: tuple[ReachRecord, ...] = ()
    recipes: tuple[RecipeRecord, ...] = ()
    population: PopulationRecord | None = None
    trust: tuple[TrustRecord, ...] = ()
    doubt: DoubtRecord | None = None
    wholes: tuple[WholeRecord, ...] = ()
    findings: tuple[Finding, ...] = ()
    schema: str = SCHEMA

    def to_dict(self) -> dict[str, Any]:
        """The result as dicts, tuples, strings and numbers, with the keys of the JSON."""
        return result_to_dict(self)

    def to_json(self, indent: int | None = 1) -> str:
        """The result as JSON text. NaN or infinity in it is a fault and raises ValueError."""
        return result_to_json(self, indent)


def result_to_dict(result: Result) -> dict[str, Any]:
    """``result`` as plain dicts with the keys of the JSON, ``schema`` first."""
    plain = asdict(result)
    for pair in plain["pairs"]:
        pair["from"] = pair.pop("from_")
    return {"schema": plain.pop("schema"), **plain}


def result_to_json(result: Result, indent: int | None = 1) -> str:
    """``result`` as JSON text (UTF-8 characters as they are)."""
    return json.dumps(result_to_dict(result), indent=indent, ensure_ascii=False, allow_nan=False)


@lru_cache(maxsize=1)
def _adapter() -> Any:
    from pydantic import TypeAdapter  # here for its cost: only a reader needs it

    return TypeAdapter(Result)


def result_from_json(text: str | bytes, *, file: str | None = None) -> Result:
    """Read a result back from its JSON; ``file`` names it in an error.

    Raises InputError when the text is no JSON, is of another schema, or a field is missing or wrong in kind.
    """
    from pydantic import ValidationError

    try:
        plain = json.loads(text)
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        line = error.lineno if isinstance(error, json.JSONDecodeError) else None
        raise bad(f"this is no JSON ({error})", file=file, line=line, mend="give a result.json") from None
    schema = plain.get("schema") if isinstance(plain, dict) else None
    if schema != SCHEMA:
        raise bad(
            f"the schema is {schema!r}",
            file=file,
            field="schema",
            expected=repr(SCHEMA),
            mend="run the job again with this version",
        )
    for pair in plain.get("pairs", ()):
        if isinstance(pair, dict) and "from" in pair:
            pair["from_"] = pair.pop("from")
    try:
        result = _adapter().validate_python(plain)
    except ValidationError as error:
        raise InputError(_problems(error, file)) from None
    assert isinstance(result, Result)
    return result


def _problems(error: Any, file: str | None) -> list[Any]:
    found = []
    for item in error.errors():
        place = ".".join("from" if part == "from_" else str(part) for part in item["loc"])
        found.append(bad(item["msg"], file=file, field=place, mend="run the job again").problems[0])
    return found
