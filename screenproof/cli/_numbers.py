"""A number that cannot be read, told as every other mistake is: what was written, what is expected, an example."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import typer
from typer.core import TyperGroup

from screenproof.errors import bad


class Commands(TyperGroup):
    """The commands of the program. The parser says of a number only that it is none; here it says which."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Keep what was written, which the parser's own complaint does not."""
        ctx.obj = list(args)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the command. Raises InputError for an option that takes a number and was given something else."""
        try:
            return super().invoke(ctx)
        except typer.BadParameter as error:
            whole = "integer" in error.message
            if not whole and not any(word in error.message for word in ("number", "float")):
                raise
            names = [name for name in getattr(error.param, "opts", ()) if name.startswith("--")]
            if not names:
                raise
            text = _written(ctx.obj, names, int if whole else float)
            kind, such = ("whole number", "200") if whole else ("number", "0.5")
            raise bad(
                f"{text!r} is no {kind}" if text is not None else f"there is no {kind}",
                field=names[0],
                expected=f"a {kind}, such as {such}; without a unit",
            ) from None


def _written(arguments: Sequence[str], names: Sequence[str], kind: type[int] | type[float]) -> str | None:
    """The first value of an option, among all that was written, that is not of its kind."""
    for i, word in enumerate(arguments):
        name, given, value = word.partition("=")
        if name not in names:
            continue
        text = value if given else "".join(arguments[i + 1 : i + 2])
        try:
            kind(text)
        except ValueError:
            return text
    return None
