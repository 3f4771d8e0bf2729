"""Records of an ink side for the page's tests: three inks on two stocks, two presses, reach, recipes."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from screenproof.appearance import de2000, lab_to_lch, lab_to_xyz, xyz_to_uv
from screenproof.errors import Note
from screenproof.proof.result import (
    ComponentRecord,
    Curve,
    HeldOutRecord,
    InkRecord,
    OverprintRecord,
    PressRecord,
    PrintRecord,
    ReachRecord,
    RecipeCard,
    RecipeRecord,
    RecipeShift,
    Result,
    SolidRecord,
    StockRecord,
)
from screenproof.proof.tolerance import ToleranceSet, judge

NM = tuple(float(nm) for nm in range(380, 740, 10))
WHITE = np.array([96.42, 100.0, 82.49])  # D50, CIE 15
LIMITS = ToleranceSet("inks", printable=2.0, recipe=1.0, light_shift=3.0, pair_shift=3.0)
CAUTION = "Colour only: food contact and light fastness are decided elsewhere."
INKS = {"Cyan": (54, -29, -42), "Magenta": (44, 68, 1), "Yellow": (85, 2, 90)}
STOCKS = {"carton": (94, 0, 1), "kraft": (63, 12, 27)}


def _uv(lab: tuple[float, float, float]) -> tuple[float, float]:
    u, v = xyz_to_uv(lab_to_xyz(np.array(lab, dtype=float), WHITE))
    return float(u), float(v)


def _colour(lab: tuple[float, float, float]) -> tuple[float, float, float]:
    return tuple(float(np.clip(part / 100, 0, 1)) for part in (lab[0], lab[0] + lab[1] / 2, lab[0] - lab[2] / 2))  # type: ignore[return-value]


def _hump(at: float, high: float) -> Curve:
    return Curve(NM, tuple(float(0.05 + high * np.exp(-(((nm - at) / 60) ** 2))) for nm in NM))


def _print(names: tuple[str, ...], labs: list[tuple[int, int, int]], measured: bool, dim: float) -> PrintRecord:
    lab = tuple(float(value) for value in np.mean(labs, axis=0) * [0.8 * dim if len(labs) > 1 else dim, 1, 1])
    found = (lab[0] + 2.0, lab[1], lab[2] - 3.0)
    return PrintRecord(
        names, (20.0, 20.0, 20.0), lab, tuple(lab_to_lch(np.array(lab))), _uv(lab), _colour(lab), _hump(500, 0.3),
        *((f"{' + '.join(names)} measured", found, _colour(found), _hump(505, 0.3),
           float(de2000(np.array(lab), np.array(found))), "darker", 0.91, 4.25) if measured else ()),
    )  # fmt: skip


def _matrix(stock: str) -> OverprintRecord:
    dim = STOCKS[stock][0] / 94
    names = list(INKS)
    inks = tuple(
        InkRecord(name, f"{name} solid", 1.0, _hump(500, 0.9), (), (20.0, 20.0, 20.0), lab, _colour(lab))
        for name, lab in INKS.items()
    )
    cells = tuple(
        tuple(
            _print(both, [INKS[name] for name in both], both == ("Cyan", "Yellow"), dim)
            for both in [tuple(dict.fromkeys((a, b))) for b in names]
        )
        for a in names
    )  # fmt: skip
    stack = _print(tuple(names), list(INKS.values()), False, 0.5 * dim)
    notes = (Note("assumed", "an uncoated stock drinks ink", "Cyan on kraft"),) if stock == "kraft" else ()
    lab = tuple(float(part) for part in STOCKS[stock])
    return OverprintRecord("Caddy inks", stock, "carton", lab, _colour(lab), inks, cells, (stack,), "D50",
                           "cie1931", 0.04, 0.6, "excluded", CAUTION, notes)  # type: ignore[arg-type]  # fmt: skip


def _press(name: str, label: str, radius: float) -> PressRecord:
    middle = np.array(_uv((60, 5, 10)))
    turns = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    hull = tuple(
        (float(u), float(v)) for u, v in middle + radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    )
    outline = tuple(
        (float(hue), ((5.0, 0.0), (50.0, 500 * radius), (92.0, 0.0))) for hue in range(0, 360, 30)
    )  # fmt: skip
    solids = tuple(SolidRecord((n,), lab, _uv(lab), _colour(lab)) for n, lab in INKS.items())
    held = HeldOutRecord(
        0.31, 0.62, 1.04, 65, "the 65 tints, each predicted without it", "D50", "cie1931", "grid 7"
    )
    return PressRecord(name, label, f"data/{name}.cgats", ("C", "M", "Y", "K"), 1.75, True, None, None, 3.0,
                       (1.0, 1.0, 1.0, 0.95), "smooth", ("C, M at 0 100 %",), held, STOCKS[name],
                       _uv(STOCKS[name]), _colour(STOCKS[name]), solids, hull, outline)  # fmt: skip


def _reach(
    kind: str, name: str, press: str, lab: tuple[float, float, float], excess: float, judged: bool = True
) -> ReachRecord:
    verdict = judge(LIMITS, "printable", excess, light="D50", observer="cie1931") if judged else None
    printable = excess == 0
    nearest = lab if printable else (lab[0] - excess, lab[1], lab[2])
    ways = (
        () if printable else ("the stock is darker than the colour", "on a white stock these inks would reach it")
    )
    display, code, bits = ("office", (200, 60, 90), 8) if kind == "approval" else (None, None, None)
    return ReachRecord(kind, name, press, lab, _uv(lab), _colour(lab), printable, excess, nearest,
                       _colour(nearest), (0.12, 0.34, 0.56, 0.07), 1.09, "" if printable else "darker", ways, "",
                       display, code, bits, verdict, "not judged" if verdict is None else verdict.status)  # type: ignore[arg-type]  # fmt: skip


def _card(parts: dict[str, float], de00: float, shifts: tuple[float, float], what: str) -> RecipeCard:
    lights = ("shop LED", "home lamp")
    verdicts = [judge(LIMITS, "recipe", de00, light="D50", observer="cie1931")]
    verdicts += [judge(LIMITS, what, s, light=n, observer="cie1931") for n, s in zip(lights, shifts, strict=True)]  # type: ignore[arg-type]
    found = tuple(verdict for verdict in verdicts if verdict is not None)
    failed = any(verdict.status == "fail" for verdict in found)
    lab = (38.0, 16.0, -25.0)
    return RecipeCard(
        tuple(ComponentRecord(name, share, 10 * share, None) for name, share in parts.items()), _hump(450, 0.2),
        lab, _colour(lab), de00, "weaker", tuple(RecipeShift(n, s) for n, s in zip(lights, shifts, strict=True)),
        None if what == "light_shift" else 0.013, 135.35, 0.05, True, found, "fail" if failed else "pass",
    )  # fmt: skip


def _recipes(name: str, cards: tuple[RecipeCard, ...], curve: Curve | None, reached: bool = True) -> RecipeRecord:
    failed = all(card.status == "fail" for card in cards)
    lab = (38.0, 16.0, -25.0)
    return RecipeRecord(
        name, "lacquers.csv", "paint", "Lid plum", "sample" if curve else "approval", lab, _colour(lab), curve,
        "pair_shift" if curve else "inconstancy", "D50", "cie1931", ("shop LED", "home lamp"), 10.0, 3, 20,
        reached, None if reached else "no pigment is as strong", 1.0,
        ((0, 1, 1), (1, 20, 20), (2, 190, 190), (3, 700, 1140)),
        cards,        CAUTION, None if curve else "office", None, "fail" if failed else "pass",
    )  # fmt: skip


STEADY = {"Rose magenta": 0.1652, "Lagoon turquoise": 0.0625, "Chalk white": 0.7723}
SHIFTY = {"Poppy red": 0.0246, "Heather violet": 0.1798, "Chalk white": 0.7956}


@pytest.fixture(scope="session")
def ink_result(result: Result) -> Result:
    """The factory's result with three inks on two stocks, two presses, reach and recipes, with troubles."""
    wanted = {"Teal": (50.0, -24.0, -4.0), "Marigold": (83.0, 5.0, 75.0), "Lantern blue": (36.0, 50.0, -90.0)}
    reach = [
        _reach("approval", "Teal", "carton", wanted["Teal"], 0.0),
        _reach("approval", "Marigold", "carton", wanted["Marigold"], 0.0),
        _reach("approval", "Lantern blue", "carton", wanted["Lantern blue"], 11.8),
        _reach("approval", "Teal", "kraft", wanted["Teal"], 1.2),
        _reach("approval", "Marigold", "kraft", wanted["Marigold"], 19.0),
        _reach("approval", "Lantern blue", "kraft", wanted["Lantern blue"], 15.2),
    ]
    for sample in result.samples:
        reach.append(_reach("sample", sample.name, "carton", sample.lab, 0.0, False))
        reach.append(
            _reach("sample", sample.name, "kraft", sample.lab, 0.04 if sample.lab[0] < 50 else 7.5, False)
        )
    steady = _card(STEADY, 0.03, (1.0, 1.4), "light_shift")
    shifty = _card(SHIFTY, 0.08, (1.5, 4.2), "light_shift")
    stocks = tuple(
        StockRecord(name, f"{name} board", "Stock", (50.0, 50.0, 50.0), lab, _uv(lab), _colour(lab))
        for name, lab in STOCKS.items()
    )
    return replace(
        result,
        stocks=stocks,
        overprints=(_matrix("kraft"), _matrix("carton")),
        presses=(_press("carton", "Four inks on carton", 0.09), _press("kraft", "Four inks on kraft", 0.04)),
        reach=tuple(reach),
        recipes=(_recipes("Lacquer", (steady,), None), _recipes("Lacquer without rose", (shifty,), None)),
        tolerances={**result.tolerances, "inks": LIMITS},
    )


@pytest.fixture(scope="session")
def parts() -> SimpleNamespace:
    """What the records are made with, for tests that make one more."""
    return SimpleNamespace(card=_card, recipes=_recipes, reach=_reach, hump=_hump)
