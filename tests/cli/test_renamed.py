"""A command by its old name is answered with the new one."""

from __future__ import annotations

import pytest

from screenproof.cli.commands import RENAMED
from screenproof.questions import questions


@pytest.mark.parametrize("old", RENAMED)
def test_an_old_command_is_answered_with_the_new_name(old, cli):
    done = cli(old, "inks.csv", "--stock", "Board")
    assert done.code == 2 and done.out == ""
    assert f"the command {old!r} is called {RENAMED[old]} now" in done.err
    assert f"screenproof {RENAMED[old]}" in done.err
    assert RENAMED[old] in questions() and old not in questions()


def test_restock_is_called_other_stock(cli):
    assert "is called other-stock now" in cli("restock").err and cli("other-stock", "--help").code == 0
