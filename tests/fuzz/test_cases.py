"""What failed once does not fail again; and each room makes some inputs, that nothing is wrong with."""

from __future__ import annotations

import os
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.fuzz.cases import KEPT, read, written
from tests.fuzz.judge import judged
from tests.fuzz.rooms import ROOMS, made
from tests.fuzz.shrink import smaller

COUNT = int(os.environ.get("FUZZ_COUNT", "6"))
CASES = sorted(KEPT.glob("*.toml"))


@pytest.fixture(autouse=True)
def debugging(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("BLOCKCHECK_DEBUG", "1")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        yield


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_what_failed_once(path: Path) -> None:
    assert judged(read(path.read_text("utf-8")), twice=True).what is None


@pytest.mark.parametrize("room", ROOMS)
def test_a_room(room: str) -> None:
    wrong = [verdict.what for seed in range(COUNT) if (verdict := judged(made(room, seed))).what is not None]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("room", ROOMS)
def test_a_case_is_the_same_whenever_it_is_made_and_read(room: str) -> None:
    for seed in range(5):
        case = made(room, seed)
        assert made(room, seed) == case
        assert read(written(case, "why")) == case


def test_a_failure_is_made_small() -> None:
    case = made("pairs", 1)
    found = smaller(case, lambda less: any(b"[blocks" in data for data in less.files.values()))
    (data,) = found.files.values()
    assert data.count(b"\n") == 1
    assert not found.asks or found.asks == (("compare",),)
