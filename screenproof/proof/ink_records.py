"""The ink side of a result: stocks, overprints, presses, what they can print, and recipes.

Plain frozen data as in :mod:`.result`, whose scales hold here too. A result that has none of these has empty
tuples. ``srgb`` is always 0..1 for the page, by the same path as a sample's patch under the viewing light;
``lab`` is relative to the white of the viewing light; tints, shares and coverages are fractions, 1 the solid or
the whole.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from screenproof.errors import Note
from screenproof.proof.tolerance import Judged, Status

if TYPE_CHECKING:
    from screenproof.spectra import Array, Grid

Triple = tuple[float, float, float]
Pair = tuple[float, float]
Codes = tuple[int, int, int]
Outline = tuple[tuple[float, tuple[Pair, ...]], ...]
"""The largest chroma at each lightness, at some hues: (hue [deg], ((L, C), ...)), as a display's."""


@dataclass(frozen=True)
class Curve:
    """Values over wavelengths [nm]."""

    wavelengths: tuple[float, ...]
    values: tuple[float, ...]

    @classmethod
    def of(cls, values: Array, grid: Grid) -> Curve:
        """The curve of values (w,) on a grid."""
        return cls(tuple(float(x) for x in grid.wavelengths), tuple(float(x) for x in values))


@dataclass(frozen=True)
class StockRecord:
    """A stock of the job: the measured sample that it is, and its colour under the viewing light."""

    name: str
    label: str
    sample: str
    xyz: Triple
    lab: Triple
    uv: Pair
    srgb: Triple
    reflectance: Curve | None = None


@dataclass(frozen=True)
class InkRecord:
    """A transparent ink of an overprint matrix: the sample that it was measured as, and its film weight here.

    ``transmittance`` is internal, of the double pass through film weight 1. ``doubtful`` are the spans [nm, nm]
    in which the reading had too little light to tell. ``xyz``, ``lab``, ``srgb`` are those of the ink alone on
    the matrix's own stock.
    """

    name: str
    sample: str
    film_weight: float
    transmittance: Curve
    doubtful: tuple[Pair, ...]
    xyz: Triple
    lab: Triple
    srgb: Triple


@dataclass(frozen=True)
class PrintRecord:
    """Inks on top of each other on one stock, as predicted, and the measured partner if the job has one.

    ``inks`` stand in printing order, the stock's neighbour first. ``measured`` names the measured sample, or is
    None; ``de00`` and ``words`` say how the prediction differs from it (None and '' without one). ``trapping``
    is the factor that was fitted to it for the uppermost ink and used here, ``de00_untrapped`` the difference
    without it. Nothing here is judged by a limit: a prediction is no product.
    """

    inks: tuple[str, ...]
    xyz: Triple
    lab: Triple
    lch: Triple
    uv: Pair
    srgb: Triple
    curve: Curve
    measured: str | None = None
    measured_lab: Triple | None = None
    measured_srgb: Triple | None = None
    measured_curve: Curve | None = None
    de00: float | None = None
    words: str = ""
    trapping: float | None = None
    de00_untrapped: float | None = None


@dataclass(frozen=True)
class OverprintRecord:
    """An overprint matrix: a set of inks on one stock.

    ``cells[row][column]`` is the row's ink printed first and the column's on top of it; on the diagonal stands
    the single ink. ``stacks`` are overprints of three inks or more that have a measured partner, and all inks
    of the set together. ``stock`` is the name of the stock of this matrix, ``own_stock`` that on which the inks
    were measured: where the two differ, every cell is carried over from curves alone. ``k1``, ``k2`` are the
    surface's (0: not corrected). ``caution`` is to be shown with it.
    """

    name: str
    stock: str
    own_stock: str
    stock_lab: Triple
    stock_srgb: Triple
    inks: tuple[InkRecord, ...]
    cells: tuple[tuple[PrintRecord, ...], ...]
    stacks: tuple[PrintRecord, ...]
    light: str
    observer: str
    k1: float
    k2: float
    specular: str
    caution: str
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class HeldOutRecord:
    """CIEDE2000 of a press on patches that its fit did not see: ``how`` says which, ``worst`` names one."""

    mean: float
    p95: float
    max: float
    count: int
    how: str
    light: str
    observer: str
    worst: str = ""


@dataclass(frozen=True)
class SolidRecord:
    """A solid of a press: one channel at 1, or several printed on each other. ``channels`` are their names."""

    channels: tuple[str, ...]
    lab: Triple
    uv: Pair
    srgb: Triple


@dataclass(frozen=True)
class PressRecord:
    """A press of the job: what it was fitted on, how well, and what it can print on its stock.

    ``n`` is the Yule-Nielsen factor; ``limit_total`` (3.0 is 300 %) and ``limit_channels`` are the limits kept
    in every separation, ``black`` is the black generation ('least', 'most' or 'smooth'; '' without a black
    channel). ``cells`` says in words where a full sub-grid made the model cellular.

    ``hull_uv`` is a closed polygon (first point not repeated) around the u'v' of everything that it prints
    within its limits, ``lc_outline`` the outline in lightness and chroma, both under the viewing light: to be
    drawn with a display's ``primaries_uv`` and ``lc_outline``. ``solids`` are the single solids and the
    overprints of two. ``refused`` says why there is no colour of it here, for a press that is known for another
    light only: then ``hull_uv``, ``lc_outline`` and ``solids`` are empty and ``stock_lab`` is None.
    """

    name: str
    label: str
    source: str
    channels: tuple[str, ...]
    n: float
    spectral: bool
    light: str | None
    observer: str | None
    limit_total: float
    limit_channels: tuple[float, ...]
    black: str
    cells: tuple[str, ...] = ()
    held_out: HeldOutRecord | None = None
    stock_lab: Triple | None = None
    stock_uv: Pair | None = None
    stock_srgb: Triple | None = None
    solids: tuple[SolidRecord, ...] = ()
    hull_uv: tuple[Pair, ...] = ()
    lc_outline: Outline = ()
    notes: tuple[Note, ...] = ()
    refused: str | None = None


@dataclass(frozen=True)
class ReachRecord:
    """One wanted colour on one press: can it be printed there, and what stands in the way.

    ``kind`` is 'approval' (a code that was approved on ``display``, or a sample that was approved) or 'sample';
    ``name`` is its name. ``excess`` is the CIEDE2000 to the nearest colour within the limits, exactly 0 when
    ``printable``. ``tints`` belong to the press's channels in their order and give ``nearest_lab``. ``words``
    say how the nearest differs from what was wanted ('' when printable), ``obstacles`` what stands in the way,
    each a short sentence. ``uv`` is that of the wanted colour, for the gamut views. ``verdict`` judges
    ``excess`` by the limit ``reach``. ``sample`` names the sample whose colour it is, None for that of a code.
    ``whiter``: the same inks come much nearer on a white stock.
    """

    kind: Literal["approval", "sample"]
    name: str
    press: str
    lab: Triple
    uv: Pair
    srgb: Triple
    printable: bool
    excess: float
    nearest_lab: Triple
    nearest_srgb: Triple
    tints: tuple[float, ...]
    coverage: float
    words: str = ""
    obstacles: tuple[str, ...] = ()
    sentence: str = ""
    display: str | None = None
    code: Codes | None = None
    bits: int | None = None
    verdict: Judged | None = None
    status: Status = "not judged"
    sample: str | None = None
    whiter: bool = False


@dataclass(frozen=True)
class ComponentRecord:
    """A component of a recipe: share of 1 (of a cloth: concentration), kg for the batch, litres if known."""

    name: str
    share: float
    amount: float
    litres: float | None = None


@dataclass(frozen=True)
class RecipeShift:
    """CIEDE2000 of a recipe in another light: pair shift against the target's curve, or colour inconstancy."""

    light: str
    de00: float


@dataclass(frozen=True)
class RecipeCard:
    """One recipe, the base last among its ``components``, with what is to be expected of it.

    ``reflectance`` is predicted; ``de00`` and ``words`` say how it differs from the target under the first light;
    ``rms`` is that of the curve against the target's (None without a curve); ``cost`` that of the batch (None
    where not known); ``doubt`` the CIEDE2000 (root mean square) by which the fit of the pigments leaves it
    uncertain, which is in the verdict on its colour;
    ``on_front``: nothing is better in difference, shift, number of components and cost at once.
    """

    components: tuple[ComponentRecord, ...]
    reflectance: Curve
    lab: Triple
    srgb: Triple
    de00: float
    words: str
    shifts: tuple[RecipeShift, ...]
    rms: float | None
    cost: float | None
    doubt: float
    on_front: bool
    verdicts: tuple[Judged, ...] = ()
    status: Status = "not judged"
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class RecipeRecord:
    """The recipes for one target out of one library, best first.

    ``target_kind`` is 'sample' or 'approval' (the colour of a code on ``display``); ``target_reflectance`` is None
    for a colour without one: then any metamer is allowed and ``shift_kind`` is 'inconstancy', else
    'pair_shift'. ``medium`` is 'paint', 'film', 'cloth' or 'inks'; ``batch`` the mass in kg (of cloth: of the
    cloth). ``reached``: the best is within ``tolerance`` CIEDE2000; if not, ``reason`` says what stands in the
    way. ``searched``: for each number of components how many sets were looked at and how many there are.
    ``status`` is that of the best card that passes, else of the best that is undecided, else of the first.
    ``caution`` is to be shown with every card. ``sample`` names the sample whose colour the target is, None for
    that of a code.
    """

    name: str
    library: str
    medium: str
    target: str
    target_kind: Literal["sample", "approval"]
    target_lab: Triple
    target_srgb: Triple
    target_reflectance: Curve | None
    shift_kind: Literal["pair_shift", "inconstancy"]
    light: str
    observer: str
    lights: tuple[str, ...]
    batch: float
    max_components: int
    pigments: int
    reached: bool
    reason: str | None
    tolerance: float
    searched: tuple[tuple[int, int, int], ...]
    recipes: tuple[RecipeCard, ...]
    caution: str
    display: str | None = None
    stock: str | None = None
    status: Status = "not judged"
    notes: tuple[Note, ...] = field(default=())
    sample: str | None = None
