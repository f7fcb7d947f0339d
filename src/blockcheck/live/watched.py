"""A layout whose files are followed: its page as it is, or as it last was, and what is wrong with the files since."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Collection, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from attrs import define, evolve, field, frozen

from blockcheck import api
from blockcheck.answers.page.page import digest, page
from blockcheck.answers.workshop.bench import AT_HAND
from blockcheck.core.errors import CallError, InputError
from blockcheck.core.spans import Place
from blockcheck.formats.inhand.written import page_in_hand
from blockcheck.types import Study

STAGES: Sequence[dict[str, Any]] = ({"soon": True}, {"sheet": False}, {})
"""How a page comes: its rows and ways at once; what trains read, what is found and the drawing; the test sheet."""
SETTLES_MS = 100
"""So long nothing must be written before the files are read: an editor may write one in several goes."""


class StaleError(Exception):
    """What is being worked out is wanted no more."""


@frozen
class Shown:
    """A layout's page as far as it is worked out. ``version`` is the layout's digest and the stage; what is ``wrong``
    comes out when it is checked, as long as the files stay as they are."""

    study: Study
    page: str
    version: str
    wrong: tuple[dict[str, Any], ...] = ()

    @property
    def files(self) -> frozenset[Path]:
        return frozenset(path.resolve() for path in self.study.files)


@define(eq=False, repr=False)
class Watched:
    """One layout, read anew whenever one of its files changes. Nothing is ever written."""

    file: str
    allow_outside: bool = False
    at_hand: Collection[str] = AT_HAND
    served: Shown = field(init=False)
    errors: tuple[dict[str, Any], ...] = ()
    files: frozenset[Path] = frozenset()
    stopped: bool = False
    _told: asyncio.Event = field(factory=asyncio.Event, init=False)

    @classmethod
    def of(cls, file: str, allow_outside: bool = False, at_hand: Collection[str] = AT_HAND) -> Watched:
        """Read a layout. Raises InputError and CallError where there is none to begin with."""
        made = cls(file, allow_outside, at_hand)
        made.served = made.made(api.load(file, allow_outside=allow_outside), 0)
        made.files = made.served.files
        return made

    def made(self, study: Study, stage: int) -> Shown:
        """The page at one of its stages. Raises StaleError where the files have changed meanwhile."""

        def wanted(*_: object) -> None:
            if self.stopped or self.served.study is not study:
                raise StaleError

        answer = page(study, date.today(), at_hand=self.at_hand, progress=wanted, **STAGES[stage])
        version = f"{answer.digest} {stage}"
        return Shown(study, page_in_hand(answer, live=version), version)

    async def again(self) -> None:
        """Read the files. While they are wrong, the last good page stays."""
        try:
            study = await asyncio.to_thread(api.load, self.file, allow_outside=self.allow_outside)
            if digest(study) != digest(self.served.study):
                self.served = await asyncio.to_thread(self.made, study, 0)
            self.files, self.errors = self.served.files, self.served.wrong
        except Exception as error:  # whatever it is, the last good page stays
            self.files |= {path.resolve() for path in getattr(error, "files", ())}
            self.errors = _rows(error)
        self._tell()

    async def complete(self) -> None:
        """Work out what the page lacks, stage by stage, as long as the files stay as they are."""
        study = self.served.study
        for stage in range(1, len(STAGES)):
            try:
                served = await asyncio.to_thread(self.made, study, stage)
            except StaleError:
                return
            except Exception as error:  # a rule that does not exist, or a defect: what is there stays
                served = evolve(self.served, wrong=_rows(error))
            if self.served.study is not study:
                return
            self.served, self.errors = served, self.errors or served.wrong
            self._tell()
            if served.wrong:
                return

    @property
    def state(self) -> dict[str, Any]:
        """What whoever looks at the page is told."""
        return {"version": self.served.version, "errors": list(self.errors)}

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

        rest = asyncio.create_task(self.complete())
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
                before = self.served.study
                await self.again()
                if self.served.study is not before:
                    rest = asyncio.create_task(self.complete())
                if folders != {path.parent for path in self.files if path.parent.is_dir()}:
                    break
        self.stopped = True
        await rest


def _rows(error: Exception) -> tuple[dict[str, Any], ...]:
    if isinstance(error, InputError):
        return tuple(_row(one.at, one.message, one.help) for one in error.findings)
    if isinstance(error, CallError):
        return (_row(None, str(error), error.help),)
    told = f"a defect of blockcheck kept the page from being worked out: {type(error).__name__}: {error}"
    return (_row(None, told, "blockcheck check says whether the layout is right; report the defect with it"),)


def _row(at: object, message: str, mend: str | None) -> dict[str, Any]:
    file, line = (at.file, at.line) if isinstance(at, Place) else (None, None)
    return {"file": file, "line": line, "message": message, "help": mend}
