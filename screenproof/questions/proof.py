"""Answers put together: one title, one verdict, one folder with the data and the page."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from screenproof.proof.finding import Finding, trouble_first
from screenproof.proof.judged import Status, worst

if TYPE_CHECKING:
    from screenproof.questions.answer import Answer

SCHEMA = "screenproof-proof/1"

CAUTION = (
    "a colour match says nothing about fitness for food contact, toys or safety colours: the supplier's data, the "
    "local code and licensed practice decide there"
)


def _now() -> str:
    return datetime.now(UTC).astimezone().isoformat(timespec="seconds")


@dataclass(frozen=True)
class Proof:
    """Answers under a title. made: an ISO 8601 time with its zone."""

    answers: tuple[Answer, ...]
    title: str = "Proof"
    note: str = ""
    made: str = field(default_factory=_now)

    @property
    def status(self) -> Status:
        """The worst of all that was judged."""
        return worst(answer.status for answer in self.answers)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What a person should know, the worst first."""
        return trouble_first(finding for answer in self.answers for finding in answer.findings())

    def sentence(self) -> str:
        """How many answers fail, are undecided and pass."""
        from screenproof.report.sections import first_sentence

        return first_sentence([answer.status for answer in self.answers])

    def to_dict(self) -> dict[str, Any]:
        """The proof as plain data, each answer as its own."""
        from screenproof.report.plain import plain

        return {
            "schema": SCHEMA,
            "title": self.title,
            "note": self.note,
            "made": self.made,
            "status": self.status,
            "sentence": self.sentence(),
            "findings": plain(self.findings),
            "answers": [answer.to_dict() for answer in self.answers],
            "cautions": [CAUTION],
        }

    def page(self) -> str:
        """The page as one HTML text that needs no other file and no network."""
        from screenproof.report.sections import answers_page

        return answers_page(self.title, self.note, self.made, self.answers, [CAUTION])

    def save(self, folder: str | Path) -> Path:
        """Write result.json and index.html into a new folder, or one that an earlier proof wrote; it is returned.

        Raises InputError when the folder holds anything else, or cannot be written.
        """
        from screenproof.questions.folder import whole_folder
        from screenproof.report.plain import json_text

        place = Path(folder)
        with whole_folder(place) as beside:
            (beside / "result.json").write_text(json_text(self.to_dict()) + "\n", encoding="utf-8")
            (beside / "index.html").write_text(self.page(), encoding="utf-8")
        return place
