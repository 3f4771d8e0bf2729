"""Commands made of questions: the options are the fields of the form, the text and the exit code are the
answer's."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from screenproof.cli._common import emit, emit_json, finish, progress
from screenproof.errors import InputError, Problem, bad, did_you_mean
from screenproof.questions import questions
from screenproof.questions.form import FormField, fields_of

if TYPE_CHECKING:
    from screenproof.questions.question import Question

GROUPS = {
    "press": "A press: fit it, predict what it prints, find tints for colours.",
    "display": "One display: fit it, show what it is, or check it.",
    "light": "One light: check whether it is fit to judge colours in.",
    "recipe": "Recipes: find them, correct a batch, look into a library. About colour only.",
}
"""What stands beside a group of commands."""

RENAMED = {"restock": "other-stock", "reach": "printable"}
"""What commands were called before."""


class Commands(TyperGroup):
    """The commands of the program: those that are registered, and one for each question, made when it is
    called."""

    def list_commands(self, ctx: Any) -> list[str]:
        """The names, questions first."""
        names = [name.split()[0] for name in questions()]
        return list(dict.fromkeys([*super().list_commands(ctx), *names]))

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """A command or a group by its name."""
        return super().get_command(ctx, cmd_name) or command(cmd_name)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """The command that the first word names. Raises InputError for an unknown one, with the nearest that
        is."""
        name = args[0]
        if name in RENAMED:
            now = RENAMED[name]
            raise bad(f"the command {name!r} is called {now} now", mend=f"write screenproof {now} ...")
        if self.get_command(ctx, name) is None:
            known = self.list_commands(ctx)
            mend = did_you_mean(name, known) or "screenproof --help lists them"
            raise bad(f"no command is called {name!r}", expected=", ".join(known), mend=mend)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """The list of commands, each with its line; none of the questions is made for it."""
        lines = []
        for name in self.list_commands(ctx):
            known = questions().get(name)
            made = None if known else super().get_command(ctx, name)
            short = known.short if known else made.get_short_help_str(80) if made else GROUPS.get(name, "")
            lines.append((name, short))
        with formatter.section("Commands"):
            formatter.write_dl(lines)

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Keep what was written, which the parser's own complaint does not."""
        ctx.obj = list(args)
        return super().parse_args(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the command. Raises InputError for an option that takes a number and was given something else.

        The parser says of a number only that it is none; here it is said which.
        """
        _given_once(ctx.obj)
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


def _given_once(words: list[str]) -> None:
    """Raise InputError for an option of a question that stands twice and takes one value: else the last would
    win."""
    known = questions()
    name = next((name for name in (" ".join(words[:2]), *words[:1]) if name in known), None)
    if name is None:
        return
    gathers = {item.option for item in fields_of(known[name]) if item.many or item.kind is dict}
    options = [word.partition("=")[0] for word in words if word.startswith("--") and len(word) > 2]
    twice = [one for one in dict.fromkeys(options) if options.count(one) > 1 and one not in gathers]
    if twice:
        raise InputError(Problem("it is given twice", field=one, mend="give it once") for one in twice)


class QuestionCommand(TyperCommand):
    """The command of a question. ``formerly``: options that it had, each with how it is written now."""

    formerly: dict[str, str]

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Raises InputError for an option that is written in another way now."""
        for word in args:
            name = word.partition("=")[0]
            if word == "--":
                break
            if name in self.formerly:
                raise bad("this option is written in another way now", field=name, mend=self.formerly[name])
        return super().parse_args(ctx, args)


def _written(arguments: list[str], names: list[str], kind: type[int] | type[float]) -> str | None:
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


def command(name: str) -> Any:
    """The command of a question, or the group of those whose name begins so; None where there is none."""
    known = questions()
    if name in known:
        return _made({"": known[name]}, name)
    inside = {full.partition(" ")[2]: one for full, one in known.items() if full.split()[0] == name}
    return _made(inside, name) if inside else None


def _made(chosen: dict[str, type[Question]], name: str) -> Any:
    app = typer.Typer(
        name=name,
        help=GROUPS.get(name),
        rich_markup_mode=None,
        add_completion=False,
        pretty_exceptions_enable=False,
        no_args_is_help="" not in chosen,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    if "" not in chosen:
        app.callback()(lambda: None)
    for inside, question in chosen.items():
        app.command(
            inside or name,
            cls=type(question.__name__, (QuestionCommand,), {"formerly": question.formerly}),
            help=question.__doc__,
            short_help=question.short,
            epilog=f"Example: {question.example}",
        )(function_of(question))
    return typer.main.get_command(app)


def function_of(question: type[Question]) -> Callable[..., None]:
    """The function behind a command: its parameters are the question's fields and the options that all have."""
    items = fields_of(question)

    def run(**given: Any) -> None:
        own = {item.name: _value(item, given[item.name]) for item in items if given[item.name] is not None}
        own = {name: value for name, value in own.items() if value is not None and value != ()}
        answered(
            question,
            own,
            plot=given.get("plot_"),
            out=given["out_"],
            force=given["force_"],
            as_json=given["json_"],
        )

    parameters = [_parameter(item) for item in sorted(items, key=lambda item: not item.ask.positional)]
    if question.plots:
        parameters.append(
            _extra("plot_", Path | None, None, "--plot", "Draw it into a new .png or .svg file.", "FILE")
        )
    said = question.writes or "Write the answer: .csv or .json."
    parameters.append(_extra("out_", Path | None, None, "-o/--out", said, "FILE"))
    parameters.append(_extra("force_", bool, False, "--force", "Replace files that exist."))
    parameters.append(_extra("json_", bool, False, "--json", "Print JSON and nothing else on standard output."))
    run.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {one.name: one.annotation for one in parameters}
    return run


def _extra(
    name: str, kind: Any, default: Any, option: str, help: str, metavar: str | None = None
) -> inspect.Parameter:
    said = typer.Option(*option.split("/"), help=help, metavar=metavar, show_default=False)
    return inspect.Parameter(
        name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=Annotated[kind, said]
    )


def _parameter(item: FormField) -> inspect.Parameter:
    plain = item.kind in (int, float, bool) and not item.many and item.ask.parse is None
    kind: Any = item.kind if plain else str
    default = (
        item.default if kind in (int, float, str, bool) and isinstance(item.default, (int, float, str)) else None
    )
    if item.many:
        kind, default = list[str], None
    required = item.required and not item.many
    said: Any
    if item.ask.positional:
        name = item.option if item.required else f"[{item.option}]"
        said = typer.Argument(metavar=name, help=item.ask.help, show_default=False)
        if not item.required and not item.many:
            kind = kind | None
    else:
        names = [*([item.ask.short] if item.ask.short else []), item.option]
        if kind is bool:
            names[-1] += f"/--no-{item.option[2:]}" if item.default is True else ""
        shown = default is not None and kind is not bool
        said = typer.Option(
            *names,
            metavar=item.ask.metavar or (None if kind is bool else item.name.upper()),
            help=item.ask.help,
            show_default=shown,
        )
        if default is None and kind is not bool and not required:
            kind = kind | None
    empty = inspect.Parameter.empty if required or (item.required and item.ask.positional) else default
    return inspect.Parameter(
        item.name, inspect.Parameter.KEYWORD_ONLY, default=empty, annotation=Annotated[kind, said]
    )


def _value(item: FormField, value: Any) -> Any:
    """The value of an option in the kind of its field: several that are written with commas stand one by one."""
    if not item.many or item.ask.parse is not None:
        return value
    found = list(value)
    if item.ask.commas:
        found = [part for text in found for part in re.split(r"\s*,\s*", text.strip()) if part] or [""]
        if found == [""]:
            return "," if value else ()
    if item.kind in (int, float):
        return [_number(item, text) for part in found for text in re.split(r"[,\s/]+", part.strip()) if text]
    return tuple(found)


def _number(item: FormField, text: str) -> float:
    try:
        return item.kind(text)  # type: ignore[no-any-return]
    except ValueError:
        raise bad(f"{text!r} is no number", field=item.option, expected=item.ask.wanted or "numbers") from None


def answered(
    question: type[Question],
    given: dict[str, Any],
    *,
    plot: Path | None,
    out: Path | None,
    force: bool,
    as_json: bool,
) -> None:
    """Put a question, print its answer, write what is asked for, and leave with its exit code."""
    from screenproof.questions.form import filled
    from screenproof.questions.opening import Open, spoken

    calls = {name: item.option for item in fields_of(question) for name in (item.name, item.key)}
    say = progress()
    try:
        asked = filled(question, given)
        if plot is not None:
            from screenproof.questions.writing import check_target

            check_target(plot, force)
        if out is not None:
            asked.check_out(out, force)
        say(question.doing)
        answer = asked.ask(Open(say=say))
        if plot is not None:
            from screenproof.questions.writing import save_figure

            save_figure(answer.figure(), plot, force)
        written = None if out is None else asked.write(answer, out, force)
        answer = answer if written is None else answer.put(written)
    except InputError as error:
        raise spoken(
            error, question, lambda name: calls.get(name, name), {"out": "--out", "plot": "--plot"}
        ) from None
    say("")
    if as_json:
        more = {question.written_as: written.as_posix()} if written is not None and question.written_as else {}
        emit_json(answer.to_dict() | more)
    else:
        emit(answer.text())
        if written is not None:
            emit(f"\nwritten: {written.as_posix()}")
    finish(answer.status == "fail")
