"""A case is judged: in a folder of its own, in this process, by the functions that the command line itself calls."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.fuzz import called, served
from tests.fuzz.cases import Case
from tests.fuzz.law import Verdict

ASKED: dict[str, Callable[[Case, float], Verdict]] = {"live": served.live, "lsp": served.lsp}
"""How the rooms are asked that ask no commands."""


def judged(case: Case, twice: bool = False, share: float = 1.0) -> Verdict:
    """What becomes of a case in a folder of its own, within a ``share`` of the law's time; ``twice``: and again."""
    first = _judged(case, share)
    if twice and first.what is None:
        again = _judged(case, share)
        if again.what is not None or again.digest != first.digest:
            return Verdict("unsteady", f"another answer the second time: {case.asks}\n{again.what or ''}")
    return first


def _judged(case: Case, share: float) -> Verdict:
    here = Path.cwd()
    folder = Path(tempfile.mkdtemp(prefix="case-"))
    try:
        os.chdir(folder)
        for name, content in case.files.items():
            Path(name).parent.mkdir(parents=True, exist_ok=True)
            Path(name).write_bytes(content)
        return ASKED.get(case.room, called.calls)(case, share)
    finally:
        os.chdir(here)
        shutil.rmtree(folder, ignore_errors=True)
