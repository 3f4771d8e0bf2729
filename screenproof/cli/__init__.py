"""The command line: parse, call, print. What is calculated is calculated in the rooms below.

Exit codes: 0 everything passed, 1 a tolerance failed, 2 the input cannot be used. A user's mistake is told
in words on standard error and never as a traceback.
"""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

import typer

from screenproof.cli import (
    blend,
    inspect,
    job,
    lists,
    tolerances,
)
from screenproof.cli._common import printable
from screenproof.cli.commands import Commands
from screenproof.errors import InputError

ABOUT = "Decide on a screen what must be right on an object: match, gamut, shift, verdict of measured colours."

app = typer.Typer(
    name="screenproof",
    cls=Commands,
    help=ABOUT,
    epilog="Begin with: screenproof new mydir, then screenproof run mydir/job.toml.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
for group in (
    job,
    blend,
    inspect,
    lists,
    tolerances,
):
    group.add_to(app)


def _version(wanted: bool) -> None:
    if wanted:
        from screenproof import __version__

        typer.echo(f"screenproof {__version__}")
        raise typer.Exit


@app.callback(help=ABOUT)
def _root(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Print the version."),
) -> None:
    pass


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run a command line (by default the process's own) and leave with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A name that the terminal's encoding does not have is shown escaped, which is no error.
            stream.reconfigure(errors="backslashreplace")
    try:
        app(args=None if arguments is None else list(arguments))
    except InputError as error:
        if sys.stderr.isatty():
            print("\r\x1b[K", end="", file=sys.stderr)  # the line of progress
        print(f"screenproof: {printable(str(error))}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("screenproof: stopped", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        # The reader of a pipe (head, less) has had enough; the interpreter must not flush into it again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        print(f"screenproof: {place}{error.strerror or error}", file=sys.stderr)
        sys.exit(2)
    sys.exit(0)
