"""What is asked of a room."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from screenproof.english import listed
from screenproof.errors import Problem
from screenproof.questions.form import SamplesLike, ask, fields_of, group
from screenproof.questions.groups import DoubtOptions, SceneOptions, ScreenOptions
from screenproof.questions.question import Question

if TYPE_CHECKING:
    from screenproof.questions.opening import Open
    from screenproof.questions.room.answer import RoomAnswer


class AskRoom(Question):
    """What the room's light does to a screen's black, contrast and gamut, and to a match; how far to dim it.

    Exit code 1 when a limit that was asked for (--contrast, --on-off, --excess) does not hold in this room.
    """

    name = "room"
    short = "What room light does to a screen, and how far to dim it."
    example = "screenproof room inks.csv --display office.icc --room 500 --excess 2"
    doing = "lighting the room"
    plots = True

    samples: SamplesLike | None = ask(
        "Samples that are matched on the screen, if any.", default=None, positional=True, metavar="SAMPLES"
    )
    screen: ScreenOptions = group(ScreenOptions)
    contrast: float | None = ask(
        "Contrast that must be kept.",
        default=None,
        metavar="RATIO",
        above=1,
        wanted="a number above 1, such as 100",
    )
    on_off: float | None = ask(
        "Most that the black may be, in percent of the screen switched off.",
        default=None,
        metavar="PERCENT",
        above=100,
        wanted="percent above 100, such as 200",
    )
    excess: float | None = ask(
        "Most that a sample may be off.",
        default=None,
        metavar="DE00",
        above=0,
        wanted="a CIEDE2000 above 0, such as 2",
    )
    only: tuple[str, ...] = ask("Only this sample; may be given again.", default=(), metavar="NAME")
    scene: SceneOptions = group(SceneOptions)
    doubt: DoubtOptions = group(DoubtOptions)

    def faults(self) -> Iterator[Problem]:
        """No light, and options that have nothing to act on."""
        if self.screen.room is None or not self.screen.room > 0:
            wanted = "lx on the screen, above 0"
            yield Problem("no room light", field="room", expected=wanted, mend="add {room} 500")
        if self.samples is None:
            given = [item.name for item in fields_of(SceneOptions) if self.scene.given(item.name)]
            idle = [f"{{{name}}}" for name in (["only"] if self.only else []) + given]
            if idle:
                yield Problem(
                    f"there are no samples that {listed(idle)} could be for",
                    field="samples",
                    mend="name a samples file, or leave it out" if len(idle) == 1 else "name a samples file",
                )
            if self.excess is not None:
                what = "there are no samples to keep it for"
                yield Problem(what, field="excess", mend="name a samples file")
        yield from self.doubt.idle(self.excess, screen=True, option="excess")

    def ask(self, open: Open) -> RoomAnswer:
        """The screen in the dark and in its room."""
        from screenproof.questions.room.answer import room_answer

        return room_answer(self, open)
