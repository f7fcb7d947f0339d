"""A layout whose files are followed: its page as it is, or as it last was, and what is wrong with the files since."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from time import monotonic
from typing import Any

from attrs import define, field

from blockcheck import api
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.spans import Place
from blockcheck.formats.inhand.written import page_in_hand
from blockcheck.types import Study

SLOW_S = 0.8
"""A page that takes longer is first shown without its test sheet, which takes most of it."""
SETTLES_MS = 100
"""So long nothing must be written before the files are read: an editor may write one in several goes."""


@define(eq=False, repr=False)
class Watched:
    """One layout, read anew whenever one of its files changes. Nothing is ever written."""

    file: str
    allow_outside: bool = False
    study: Study = field(init=False)
    page: str = field(init=False)
    version: str = field(init=False)
    slow: bool = False
    errors: tuple[dict[str, Any], ...] = ()
    files: frozenset[Path] = frozenset()
    _told: asyncio.Event = field(factory=asyncio.Event, init=False)

    @classmethod
    def of(cls, file: str, allow_outside: bool = False) -> Watched:
        """Read a layout. Raises InputError and CallError where there is none to begin with."""
        made = cls(file, allow_outside)
        made.take(api.load(file, allow_outside=allow_outside))
        return made

    def take(self, study: Study, sheet: bool = True) -> None:
        """A layout that can be understood, with its test sheet or, for now, without."""
        began, answer = monotonic(), api.page(study, sheet=sheet)
        self.version = answer.digest + ("" if sheet else " without its sheet")
        self.study, self.page, self.errors = study, page_in_hand(answer, live=self.version), ()
        self.files = frozenset(path.resolve() for path in study.files)
        if sheet:
            self.slow = monotonic() - began > SLOW_S

    def again(self) -> None:
        """Read the files. While they are wrong, the last good page stays. Where a page takes long, it comes without its
        sheet first."""
        try:
            self.take(api.load(self.file, allow_outside=self.allow_outside), sheet=not self.slow)
        except InputError as error:
            self.files |= {path.resolve() for path in error.files}
            self.errors = tuple(_row(one.at, one.message, one.help) for one in error.findings)
        except CallError as error:
            self.errors = (_row(None, str(error), error.help),)

    @property
    def state(self) -> dict[str, Any]:
        """What whoever looks at the page is told."""
        return {"version": self.version, "errors": list(self.errors)}

    async def states(self) -> AsyncIterator[dict[str, Any]]:
        """What there is to tell: now, and after each change."""
        while True:
            told = self._told
            yield self.state
            await told.wait()

    def _tell(self) -> None:
        told, self._told = self._told, asyncio.Event()
        told.set()

    async def follow(self, stop: asyncio.Event) -> None:
        """Read the layout again whenever one of its files is written, put in another's place, or goes."""
        from watchfiles import awatch

        while not stop.is_set():
            folders = {path.parent for path in self.files if path.parent.is_dir()}
            async for _ in awatch(
                *folders,
                watch_filter=lambda _, path: Path(path).resolve() in self.files,
                recursive=False,
                debounce=SETTLES_MS * 4,
                step=SETTLES_MS,
                stop_event=stop,
            ):
                await asyncio.to_thread(self.again)
                self._tell()
                if self.slow and not self.errors:
                    await asyncio.to_thread(self.take, self.study)
                    self._tell()
                if folders != {path.parent for path in self.files if path.parent.is_dir()}:
                    break


def _row(at: object, message: str, mend: str | None) -> dict[str, Any]:
    file, line = (at.file, at.line) if isinstance(at, Place) else (None, None)
    return {"file": file, "line": line, "message": message, "help": mend}
