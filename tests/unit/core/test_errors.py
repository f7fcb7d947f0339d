"""What an error of the package says to somebody who sees nothing but it, as in a notebook or a log."""

from __future__ import annotations

import pickle
import traceback

import pytest

from blockcheck import api
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.findings import Finding

TEXT = """format = 1
[layout]
name = 3
[blocks.S1]
track = "one"
"""


def refused() -> InputError:
    with pytest.raises(InputError) as caught:
        api.loads(TEXT, "yard.toml")
    return caught.value


def test_faults_of_the_input_print_with_place_and_mend() -> None:
    assert str(refused()) == (
        "yard.toml:2:1: error: [layout] has no control\n"
        '    mend: write control = "dcc"\n'
        "yard.toml:3:8: error: name takes text, in quotes, got 3\n"
        '    mend: write name = "3"\n'
        'yard.toml:5:9: error: track takes a whole number from 0 to 1000000000, got "one"\n'
        "    mend: write track = 3"
    )


def test_a_finding_prints_in_lines_that_editors_follow() -> None:
    finding = Finding("S1 and S2 meet", "S1", ("blocks", "S1"), rule="gap-missing")
    assert str(finding) == "blocks.S1: error: S1 and S2 meet (gap-missing)"


def test_what_to_write_instead_stands_below_a_call_that_was_wrong() -> None:
    error = CallError("there is no track 9", "the tracks are 1, 2")
    assert str(error) == "there is no track 9"
    assert "".join(traceback.format_exception(error)).endswith("there is no track 9\nthe tracks are 1, 2\n")


@pytest.mark.parametrize("error", [refused(), CallError("there is no track 9", "the tracks are 1, 2")])
def test_an_error_survives_the_way_between_processes(error: InputError | CallError) -> None:
    back = pickle.loads(pickle.dumps(error))
    assert str(back) == str(error)
    assert vars(back) == vars(error)
