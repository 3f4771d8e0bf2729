"""Whether two sets of readings may be compared: measured with like ultraviolet, geometry and backing.

ISO 13655:2017 names these as what a reading depends on besides the sample: the measurement condition M0 to M3, the
backing, the geometry. A 45:0 instrument leaves out what a sphere takes in; a black backing darkens what shines
through; M1 excites a brightener that M2 does not. What a file does not state is not held against it.
"""

from __future__ import annotations

from screenproof.spectra.samples import Condition


def unlike(a: Condition, b: Condition) -> tuple[str, ...]:
    """What two conditions state that does not compare, each in words: 'M0 against M1'; () where nothing does.

    >>> unlike(Condition(filter="M0"), Condition(filter="M1", backing="black"))
    ('M0 against M1',)
    """
    found = []
    if a.filter and b.filter and a.filter != b.filter:
        found.append(f"{a.filter} against {b.filter}")
    if a.geometry and b.geometry and _kind(a.geometry) != _kind(b.geometry):
        found.append(f"geometry {a.geometry} against {b.geometry}")
    if a.backing and b.backing and a.backing.strip().lower() != b.backing.strip().lower():
        found.append(f"{a.backing} backing against {b.backing}")
    return tuple(found)


def _kind(geometry: str) -> str:
    """A geometry of CIE 15:2018 without what makes no difference: 45a:0, 45x:0, 0:45 are one; di:8 and de:8 are
    two, since one takes the mirror reflection in."""
    text = geometry.lower().replace(" ", "").replace("/", ":").replace("°", "")
    if "45" in text:
        return "45:0"
    if "d" in text:
        return "sphere, excluded" if "e" in text else "sphere, included"
    return text
