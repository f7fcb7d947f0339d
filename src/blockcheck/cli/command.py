"""How a function becomes a command: what all commands have in common is added to each here, once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import typer

from blockcheck.cli import options, output, status
from blockcheck.cli.files import Gate
from blockcheck.core.docs import docstring
from blockcheck.core.errors import CallError

if TYPE_CHECKING:
    from blockcheck.types import Answer, Study


class Source(NamedTuple):
    """Where the layouts of a call come from: files, or standard input for ``-``, which then bears a name."""

    layouts: tuple[str, ...]
    stdin_filename: str
    allow_outside: bool

    def load(self, file: str, data: bytes | None = None) -> Study:
        """One layout; ``data`` is what standard input held, where it was read already. Raises InputError, CallError."""
        from blockcheck.cli.layouts import load

        data = options.stdin_bytes(file) if data is None else data
        return load(file, data, self.stdin_filename, self.allow_outside)

    def named(self, file: str, data: bytes | None) -> tuple[str, bytes | None]:
        """A file by its name, or what standard input holds by the name that it was given."""
        return (file, None) if file != "-" else (self.stdin_filename, data)

    def beside(self, file: str, what: str) -> bytes | None:
        """What standard input holds, where a file beside the layouts is read from it. Raises CallError."""
        if file == "-" and "-" in self.layouts:
            told = f"the layout and {what} cannot both be read from standard input"
            raise CallError(told, "write - for one of the two")
        return options.stdin_bytes(file)


class Result(NamedTuple):
    """What a command answers. ``options`` are what its formats are told, ``read`` the layouts' files, ``beside`` others
    that were read. ``then`` is told the formats once they are written; ``status`` is that of the process,
    ``outputs`` more files to write."""

    answer: Answer
    options: Mapping[str, Any] = {}
    read: Sequence[Path] = ()
    beside: Sequence[str] = ()
    status: int = status.OK
    outputs: Sequence[str] = ()
    then: Callable[[set[str]], None] = lambda _: None


def command(formats: str, default: str = "text", *, drawn: bool = False) -> Callable[[Callable[..., Result]], Any]:
    """Make a command of a function from ``study``, ``source`` or neither, and the arguments and options of its own.

    ``formats`` are those that it has, as help lists them. One that is ``drawn`` writes nothing to standard output where
    a file is named.
    """

    def made(function: Callable[..., Result]) -> Callable[..., None]:
        own = list(signature(function).parameters.values())
        needs = {one.name for one in own} & {"study", "source"}
        own = [one for one in own if one.name != "source"]
        parameters = [_option("file", options.File, Parameter.empty) if one.name == "study" else one for one in own]
        parameters += [
            _option("format", options.format_option(formats, default if drawn else ""), None if drawn else default),
            _option("outputs", options.Output, None),
            _option("force", options.Force, False),
        ]
        paper = "html" in formats and not any(one.name == "paper" for one in own)
        if paper:
            parameters.append(_option("paper", options.Paper, None))
        if "csv" in formats:
            parameters.append(_option("csv_dialect", options.CsvDialect, "comma"))
        if needs:
            parameters.append(_option("stdin_filename", options.StdinName, "stdin.toml"))
            parameters.append(_option("allow_outside", options.Outside, False))

        def called(**given: Any) -> None:
            format_, outputs = given.pop("format"), given.pop("outputs") or []
            force, dialect = given.pop("force"), given.pop("csv_dialect", "comma")
            sheet = given.pop("paper", None) if paper else None
            read: Sequence[Path] = ()
            if needs:
                layouts = [given[name] for name in ("file", "old", "new") if name in given] + given.get("files", [])
                source = Source(tuple(layouts), given.pop("stdin_filename"), given.pop("allow_outside"))
                if "source" in needs:
                    given["source"] = source
            if "study" in needs:
                given["study"] = study = source.load(given.pop("file"))
                read = study.files
            _deliver(function(**given), format_ or (None if outputs else default), outputs, read, force, dialect, sheet)

        ordered = sorted(parameters, key=lambda one: one.default is not Parameter.empty)
        called.__signature__ = Signature([one.replace(kind=Parameter.KEYWORD_ONLY) for one in ordered])  # type: ignore[attr-defined]
        called.__annotations__ = {one.name: one.annotation for one in ordered}
        called.__name__, called.__doc__ = function.__name__, docstring(function)
        return called

    return made


def _option(name: str, annotation: Any, default: Any) -> Parameter:
    return Parameter(name, Parameter.KEYWORD_ONLY, default=default, annotation=annotation)


def _deliver(
    result: Result,
    format_: str | None,
    outputs: list[str],
    read: Sequence[Path],
    force: bool,
    dialect: str,
    paper: str | None,
) -> None:
    from blockcheck.formats.registry import formats_of

    gate = Gate([*read, *result.read], list(result.beside), force)
    output.deliver(
        formats_of(result.answer, **result.options), format_, [*outputs, *result.outputs], gate, dialect, paper
    )
    result.then({format_ or "", *(one.partition("=")[0] for one in outputs)})
    if result.status:
        raise typer.Exit(result.status)
