"""One finding as it is put together: what is true of a colour, its figures, and where it stands on the page."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from screenproof.english import capital, sentence
from screenproof.proof.finding import Finding
from screenproof.proof.judged import Judged
from screenproof.report.doubt import chance, cures, with_doubt
from screenproof.report.words import Labels, led

_UNSURE = {"undecided": "undecided whether", "not known": "not known whether"}


@dataclass(frozen=True)
class Told(Finding):
    """A finding with what a card needs.

    anchor: its place on the page. title: what heads the card. lead: what is wrong, in a few words without the
    subject. figures: the rest. colours: the samples that it is true of. entry: ``lead`` as it stands beside one of
    them. unsure: all that is undecided in it, of which ``judged`` is the worst. wanting: it needs attention,
    though nothing was judged.
    """

    anchor: str = ""
    title: str = ""
    lead: str = ""
    figures: str = ""
    colours: tuple[str, ...] = ()
    entry: str = ""
    unsure: tuple[Judged, ...] = ()
    wanting: bool = False

    @property
    def trouble(self) -> bool:
        """Whether it needs somebody's attention."""
        return self.wanting or (self.judged is not None and self.judged.trouble)

    def plain(self) -> Finding:
        """The finding for a terminal and for plain data: with blanks and a minus that any keyboard has."""
        says, do = (text.translate(_KEYBOARD) for text in (self.says, self.do))
        return Finding(self.kind, self.subject, self.place.translate(_KEYBOARD), self.judged, says, do)


_KEYBOARD = {ord("\N{NO-BREAK SPACE}"): " ", ord("\N{MINUS SIGN}"): "-"}


def told(
    kind: str,
    subject: str,
    judged: Judged | None,
    claims: tuple[str, str],
    figures: str,
    *,
    it: str = "it",
    tail: str = "",
    title: str = "",
    lead: str = "",
    do: str = "",
    unsure: Iterable[Judged] = (),
    **more: object,
) -> Told:
    """A finding. claims: what is true of ``subject`` if it fails, and what else would have to be decided of
    ``it``.

    What is undecided is to be cured by what ``unsure`` names. tail: what stands behind the claim in the sentence.
    """
    before = _UNSURE.get("" if judged is None else judged.status, "")
    after = claims[1] if before else claims[0]
    said = f"{capital(before)} {subject} {after}" if before else f"{subject} {after}"
    open_ = tuple(one for one in unsure if one.status == "undecided")
    cure = "; ".join(cures(open_)) if before else ""
    return Told(
        kind,
        subject,
        judged=judged,
        says=sentence(f"{said}{tail}: {figures}" if figures else f"{said}{tail}"),
        do=cure or do,
        title=title or subject,
        lead=lead or sentence(f"{before} {it} {after}" if before else after),
        figures=sentence(figures),
        unsure=open_,
        **more,  # type: ignore[arg-type]
    )


def measure(labels: Labels, verdict: Judged, how: str = "", words: str = "") -> str:
    """'4.1 ± 0.3 CIEDE2000 away (darker) in shop tubes for CIE 1931, 2°, limit 2'; how: ' away', words:
    'darker'."""
    if math.isnan(verdict.figure):
        return f"what could not be calculated, limit {verdict.limit:g}"
    said = chance(verdict, labels.risk)
    return (
        f"{with_doubt(verdict)} {labels.metric(verdict)}{how}{f' ({words})' if led('', words) else ''} in "
        f"{labels.light(verdict.light)} for {labels.observer(verdict.observer)}, limit {verdict.limit:g}"
        f"{f', {said}' if said else ''}"
    )


def worst_of(verdicts: Iterable[Judged], what: str | None = None) -> Judged | None:
    """The worst of those that fail or are undecided (on one matter), or None."""
    found = (one for one in verdicts if one.trouble and what in (None, one.what))
    return max(found, key=lambda one: one.severity, default=None)
