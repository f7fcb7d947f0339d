"""``python -m blockcheck``: runs the command line and turns what escapes it into an exit status."""

from __future__ import annotations

import gc
import io
import os
import sys
from contextlib import suppress
from typing import Any


def run(args: list[str] | None = None) -> None:
    """Run the command line and leave. No error escapes as a traceback: that would exit 1, which means findings."""
    gc.disable()  # a run is short: looking for cycles, and taking everything down one by one, only costs time
    _buffer()
    status = main(args)
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(status)


def _buffer() -> None:
    """Let standard output be buffered even where Python was told not to: what is not may be written in part."""
    raw = getattr(sys.stdout, "buffer", None)
    if isinstance(raw, io.RawIOBase):
        sys.stdout = io.TextIOWrapper(io.BufferedWriter(raw), sys.stdout.encoding, sys.stdout.errors)


def main(args: list[str] | None = None) -> int:
    """Run the command line; returns the exit status."""
    try:
        return _called(args)
    except KeyboardInterrupt:  # from the first import on, so that the table of statuses may not be there yet
        return 130


def _called(args: list[str] | None) -> int:
    import typer

    from blockcheck.cli import app_of, status
    from blockcheck.core.errors import CallError, InputError

    words = sys.argv[1:] if args is None else args
    try:
        return int(app_of(words)(words, standalone_mode=False, prog_name="blockcheck") or 0)
    except typer.Abort:
        return status.INTERRUPTED
    except CallError as error:
        _say(*_lines(str(error), error.help))
        return status.NOT_UNDERSTOOD
    except InputError as error:
        from blockcheck.answers.checking.check import refused
        from blockcheck.formats.style import Style
        from blockcheck.formats.text import document_text

        _say(document_text(refused(error).document(), Style()).rstrip("\n"))
        return status.NOT_UNDERSTOOD
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return status.OK
    except OSError as error:  # what typer writes itself: help, and the completion of a shell
        what = "standard output" if error.filename is None else error.filename
        _say(*_lines(f"{what} cannot be written: {(error.strerror or str(error)).lower()}"))
        return status.NOT_UNDERSTOOD
    except MemoryError:
        _say("error  there is not enough memory for this", "       close something else, or ask for less at a time")
        return status.NOT_UNDERSTOOD
    except ImportError as error:
        library = _raised_in(error)
        if library == "blockcheck":
            return _defect(error)
        _say(*_lines(f"{library} cannot be loaded: {error.__cause__ or error}", "install it anew, or free some memory"))
        return status.NOT_UNDERSTOOD
    except Exception as error:
        if hasattr(error, "format_message"):  # a usage error; where its class lives depends on typer's version
            _usage(error)
            return status.NOT_UNDERSTOOD
        return _defect(error)


def _raised_in(error: BaseException) -> str:
    """The package whose code raised it."""
    import traceback

    *_, (frame, _) = traceback.walk_tb(error.__traceback__)
    return str(frame.f_globals.get("__name__", "")).partition(".")[0]


def _usage(error: Any) -> None:
    """What is wrong with the words of the call, and how the command is called."""
    if type(error).__name__ == "NoArgsIsHelpError":  # no command at all: its message is the help
        _say(error.format_message())
        return
    context = getattr(error, "ctx", None)
    command = context.info_name if context is not None and context.parent is not None else None
    called = f"blockcheck {command}" if command else "blockcheck"
    _say(*_lines(error.format_message(), f'see "{called} --help"'))


def _lines(message: str, advice: str | None = None) -> list[str]:
    """A message and what to do, in which nothing that was typed begins a line of its own."""
    from blockcheck.formats.escape import for_text

    return [f"error  {for_text(message)}", *([f"       {for_text(advice)}"] if advice else [])]


def _say(*lines: str) -> None:
    with suppress(AttributeError, OSError, ValueError):  # nobody listens: the exit status still tells
        for line in lines:
            sys.stderr.write(line + "\n")


def _defect(error: Exception) -> int:
    import traceback

    from blockcheck.cli import status

    frame = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{os.path.basename(frame.filename)}:{frame.lineno}"  # noqa: PTH119 - no path of this machine is told
    _say(
        f"error  blockcheck has a defect: {type(error).__name__} at {where}: {error}",
        "       Nothing is wrong with the layout for all that is known. Please report this line and the layout.",
    )
    if os.environ.get("BLOCKCHECK_DEBUG"):
        traceback.print_exc()
    return status.DEFECT


if __name__ == "__main__":
    run()
