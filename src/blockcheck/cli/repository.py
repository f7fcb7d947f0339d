"""The repository and the job that a call runs in: where files lie from the top of the one, and the other's summary."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from blockcheck.cli.files import append_file
from blockcheck.text.includes import printed_name

if TYPE_CHECKING:
    from blockcheck.types import CheckAnswer


def in_repository(inputs: Iterable[str]) -> Callable[[str], str]:
    """What turns the printed name of a file into its path from the top of the repository, with forward slashes.

    Names are printed from the working directory, or, for a first file given by an absolute path elsewhere, from its own
    folder. Without a repository a name stays as it is.
    """
    try:
        here = Path.cwd()
    except OSError:  # the folder that we are in is gone
        return lambda name: Path(name).as_posix()
    elsewhere = (one for one in inputs if os.path.isabs(one) and "/" not in printed_name(one))  # noqa: PTH117 - as typed
    folders = [here, *(Path(one).parent for one in elsewhere)]

    def path_of(name: str) -> str:
        folder = next((one for one in folders if (one / name).exists()), here)
        whole = Path(os.path.normpath(folder / name))
        for top in (whole.parent, *whole.parent.parents):
            if (top / ".git").exists():
                return whole.relative_to(top).as_posix()
        return Path(name).as_posix()

    return path_of


def job_summary(answer: CheckAnswer) -> None:
    """Append a check to the summary of the job that GitHub Actions runs, where it does. Raises CallError."""
    path = os.environ.get("GITHUB_STEP_SUMMARY")
    if path:
        from blockcheck.formats.programs.github import MOST_SUMMARY, summary_markdown

        append_file(Path(path), lambda size: summary_markdown(answer, MOST_SUMMARY - size))
