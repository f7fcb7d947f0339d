"""The language server as an editor meets it: a client speaks with it, and everything that it offers is asked for."""

from __future__ import annotations

import asyncio
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient

import blockcheck

PATIENCE_S = 30


class Editor:
    """A client in a thread of its own, and what it was told."""

    def __init__(self) -> None:
        self._loop = asyncio.new_event_loop()
        threading.Thread(target=self._loop.run_forever, daemon=True).start()
        self.told: list[lsp.PublishDiagnosticsParams] = []
        self.client = LanguageClient("tests", "1")
        self.client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)(lambda params: self.told.append(params))
        self.wait(self.client.start_io(sys.executable, "-m", "blockcheck", "lsp"))
        capabilities = lsp.ClientCapabilities()
        self.abilities = self.wait(
            self.client.initialize_async(lsp.InitializeParams(capabilities=capabilities))
        ).capabilities
        self.client.initialized(lsp.InitializedParams())

    def wait(self, asked: Any) -> Any:
        async def answered() -> Any:
            return await asked

        return asyncio.run_coroutine_threadsafe(answered(), self._loop).result(PATIENCE_S)

    def open(self, path: Path, text: str) -> str:
        uri = path.resolve().as_uri()
        item = lsp.TextDocumentItem(uri=uri, language_id="toml", version=1, text=text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))
        return uri

    def change(self, uri: str, text: str, version: int = 2) -> None:
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(version=version, uri=uri),
                [lsp.TextDocumentContentChangeWholeDocument(text)],
            )
        )

    def diagnostics(self, uri: str, until: Callable[[tuple[lsp.Diagnostic, ...]], bool]) -> tuple[lsp.Diagnostic, ...]:
        """The diagnostics of a file, once they are what is waited for."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            found = next((tuple(one.diagnostics) for one in reversed(self.told) if one.uri == uri), None)
            if found is not None and until(found):
                return found
            time.sleep(0.01)
        raise AssertionError(f"never came; last: {[one.message for one in found or ()]}")

    def close(self) -> None:
        self.wait(self.client.shutdown_async(None))
        self.client.exit(None)
        stop: Any = self.client.stop
        self.wait(stop())
        self._loop.call_soon_threadsafe(self._loop.stop)


@pytest.fixture(scope="module")
def editor() -> Iterator[Editor]:
    one = Editor()
    yield one
    one.close()


TEXT = blockcheck.new("yard.toml", tracks=4, ends=2).text


@pytest.fixture
def yard(editor: Editor, tmp_path: Path) -> Iterator[str]:
    uri = editor.open(tmp_path / "yard.toml", TEXT)
    yield uri
    editor.client.text_document_did_close(lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(uri)))


def at(text: str, mark: str, behind: int = 0) -> lsp.Position:
    offset = text.index(mark) + behind
    line = text.count("\n", 0, offset)
    return lsp.Position(line, offset - (text.rfind("\n", 0, offset) + 1))


def stretch(text: str, found: lsp.Range) -> str:
    assert found.start.line == found.end.line
    line: str = text.splitlines()[found.start.line]
    return line[found.start.character : found.end.character]


def document(uri: str) -> lsp.TextDocumentIdentifier:
    return lsp.TextDocumentIdentifier(uri)


def codes(found: tuple[lsp.Diagnostic, ...]) -> list[str]:
    return sorted(str(one.code) for one in found)


def test_findings_are_told_while_one_types_and_go_when_they_are_mended(editor: Editor, yard: str) -> None:
    assert editor.diagnostics(yard, lambda found: not found) == ()
    slip = TEXT.replace('gap = "detected"', 'gap = "none"', 1)
    editor.change(yard, slip)
    found = editor.diagnostics(yard, lambda found: "gap-missing" in codes(found))
    one = next(one for one in found if one.code == "gap-missing")
    assert one.severity == lsp.DiagnosticSeverity.Error
    assert one.source == "blockcheck"
    assert stretch(slip, one.range) == '"none"'
    assert "mend: cut the detected rail" in one.message
    assert one.related_information
    assert all(info.location.uri == yard for info in one.related_information)
    editor.change(yard, slip.replace("[layout]", "[layout"), 3)
    found = editor.diagnostics(yard, lambda found: codes(found) == ["input"])
    assert found[0].range.start.line == at(TEXT, "[layout]").line
    editor.change(yard, TEXT, 4)
    assert editor.diagnostics(yard, lambda found: not found) == ()


def test_what_the_rules_of_volts_find_comes_too(editor: Editor, yard: str) -> None:
    editor.change(yard, TEXT.replace('axle_resistance = "10 kohm"', 'axle_resistance = "90 kohm"'))
    editor.diagnostics(yard, lambda found: "vehicle-unseen" in codes(found))


def test_a_mend_that_is_sure_is_a_quick_fix(editor: Editor, yard: str) -> None:
    slip = TEXT.replace('harness = "yard"', 'harness = "yrad"', 1)
    editor.change(yard, slip)
    (one,) = editor.diagnostics(yard, lambda found: codes(found) == ["unknown-name"])
    context = lsp.CodeActionContext(diagnostics=[one])
    asked = lsp.CodeActionParams(document(yard), one.range, context)
    (action,) = editor.wait(editor.client.text_document_code_action_async(asked))
    assert isinstance(action, lsp.CodeAction)
    assert action.edit is not None
    assert action.edit.changes is not None
    ((uri, (edit,)),) = action.edit.changes.items()
    assert (uri, edit.new_text) == (yard, '"yard"')
    assert stretch(slip, edit.range) == '"yrad"'
    top = lsp.Range(lsp.Position(0, 0), lsp.Position(0, 0))
    elsewhere = lsp.CodeActionParams(document(yard), top, context)
    assert not editor.wait(editor.client.text_document_code_action_async(elsewhere))


@pytest.mark.parametrize(
    ("mark", "behind", "told"),
    [
        ("voltage =", 2, "Track voltage without load"),
        ("[turnouts.W1", 3, "ladder is a row"),
        ('gap = "detected"', 9, "Which rails are cut"),
        ("wire = ", 1, "Conductor of the pair"),
        ("kind = ", 2, "storage, running, or throat"),
    ],
)
def test_what_stands_there_is_explained(editor: Editor, yard: str, mark: str, behind: int, told: str) -> None:
    asked = lsp.HoverParams(document(yard), at(TEXT, mark, behind))
    answer = editor.wait(editor.client.text_document_hover_async(asked))
    assert answer is not None
    assert isinstance(answer.contents, lsp.MarkupContent)
    assert told in answer.contents.value
    comment = lsp.HoverParams(document(yard), at(TEXT, "# yours", 4))
    assert editor.wait(editor.client.text_document_hover_async(comment)) is None


def offered(editor: Editor, uri: str, text: str, position: lsp.Position, version: int) -> list[str]:
    editor.change(uri, text, version)
    asked = lsp.CompletionParams(document(uri), position)
    answer = editor.wait(editor.client.text_document_completion_async(asked))
    assert isinstance(answer, lsp.CompletionList)
    return [one.text_edit.new_text for one in answer.items if isinstance(one.text_edit, lsp.TextEdit)]


@pytest.mark.parametrize(
    ("typed", "wanted", "never"),
    [
        ("\n[bl", ["blocks"], ["joints"]),
        ("\n[[jo", ["joints"], ["blocks"]),
        ("\n[blocks.X]\nle", ["length", "lead"], ["kind"]),
        ('\n[blocks.X]\nchannel = "', ["D1.7", "D1.8"], ["D1.1"]),
        ('\n[blocks.X]\nharness = "', ["yard"], ["I1"]),
        ('\n[blocks.X]\nkind = "st', ["storage"], ["running"]),
        ('\n[blocks.X]\nlength = "2.5 ', ["2.5 m", "2.5 ft"], ["2.5 V"]),
        ("\n[turnouts.X]\nroutes = ", ["true", "false"], []),
        ('\n[[joints]]\nblocks = ["west-throat", "', ["T1", "east-throat"], ["I1"]),
        ("\n[trains.X]\nvehicles = { en", ["engine"], ["wagon"]),
        ('\n[districts.X]\nexpects = [{ load = "', ["engine", "wagon"], ["yard"]),
        ('\n[[accept]]\nrule = "gap', ["gap-missing"], ["frog-short"]),
        ("\n[rules]\nname-un", ["name-unused"], ["gap-missing"]),
        ("\n[isolators.X]\npanel = ", ['"fascia"'], ["fascia"]),
    ],
)
def test_what_may_be_written_is_offered(
    editor: Editor, yard: str, typed: str, wanted: list[str], never: list[str]
) -> None:
    text = TEXT + typed
    editor.diagnostics(yard, lambda found: not found)
    lines = text.split("\n")
    found = offered(editor, yard, text, lsp.Position(len(lines) - 1, len(lines[-1])), 7)
    assert [one for one in wanted if one not in found] == []
    assert [one for one in never if one in found] == []


def test_a_name_is_followed_through_ranges_and_files(editor: Editor, tmp_path: Path) -> None:
    head, _, rest = TEXT.partition("# --- turnouts of the west")
    first = head.replace("format = 1\n", 'format = 1\ninclude = ["ladders.toml"]\n')
    turnouts = "# --- turnouts of the west" + rest
    one = editor.open(tmp_path / "yard.toml", first)
    two = editor.open(tmp_path / "ladders.toml", turnouts)  # neither is saved
    editor.diagnostics(one, lambda found: not found)
    where = at(turnouts, 'diverging = "T1-T3"', len('diverging = "T'))
    defined = editor.wait(editor.client.text_document_definition_async(lsp.DefinitionParams(document(two), where)))
    assert isinstance(defined, list)
    assert [stretch(first, place.range) for place in defined] == ["T1-T4"]
    context = lsp.ReferenceContext(include_declaration=False)
    used = editor.wait(
        editor.client.text_document_references_async(
            lsp.ReferenceParams(context, document(one), at(first, "T1-T4]", 1))
        )
    )
    assert used is not None
    assert {stretch(turnouts, place.range) for place in used if place.uri == two} >= {"T1-T3", "T4", "T1-T4", "T1"}
    asked = lsp.RenameParams(document(one), at(first, "T1-T4]", 1), "S1-S4")
    answer = editor.wait(editor.client.text_document_rename_async(asked))
    assert answer is not None
    assert answer.changes is not None
    after = {uri: made(text, list(answer.changes[uri])) for uri, text in ((one, first), (two, turnouts))}
    assert after[one] == first.replace("blocks.T1-T4", "blocks.S1-S4")
    for uri, text in after.items():
        (tmp_path / Path(uri).name).write_text(text, "utf-8")
    answer_ = blockcheck.check(blockcheck.load(tmp_path / "yard.toml"))
    assert answer_.findings == ()
    assert {*blockcheck.load(tmp_path / "yard.toml").layout.blocks} == {
        "S1",
        "S2",
        "S3",
        "S4",
        "west-throat",
        "east-throat",
    }
    for new, mark, why in (
        ("X", 'at = "T2"', "rename that range"),
        ("S1-S3", "T1-T4]", "stands for 4 names"),
        ("west-throat", "east-throat]", "already"),
        ("a b", "east-throat]", "no name here"),
    ):
        uri, text = (two, turnouts) if mark.startswith("at") else (one, first)
        asked = lsp.RenameParams(document(uri), at(text, mark, mark.index("T2") if "T2" in mark else 1), new)
        with pytest.raises(Exception, match=why):
            editor.wait(editor.client.text_document_rename_async(asked))
    for uri in (one, two):
        editor.client.text_document_did_close(lsp.DidCloseTextDocumentParams(document(uri)))


def made(text: str, edits: list[lsp.TextEdit]) -> str:
    lines = text.splitlines(keepends=True)
    for edit in sorted(edits, key=lambda one: (one.range.start.line, one.range.start.character), reverse=True):
        line, start, end = edit.range.start.line, edit.range.start.character, edit.range.end.character
        lines[line] = lines[line][:start] + edit.new_text + lines[line][end:]
    return "".join(lines)


def test_places_are_counted_as_the_editor_counts(editor: Editor, tmp_path: Path) -> None:
    slip = 'format = 1\nboards.D9 = { at = "\U0001f682", lenght = 1 }\n'  # one sign, two units of UTF-16
    text = TEXT.replace("format = 1\n", slip)
    uri = editor.open(tmp_path / "signs.toml", text)
    found = editor.diagnostics(uri, lambda found: any("lenght" in one.message for one in found))
    one = next(one for one in found if "lenght" in one.message)
    line = text.splitlines()[one.range.start.line]
    utf16 = line.encode("utf-16-le")
    assert utf16[2 * one.range.start.character : 2 * one.range.end.character].decode("utf-16-le") == "lenght"
    editor.client.text_document_did_close(lsp.DidCloseTextDocumentParams(document(uri)))


def test_without_its_package_it_says_what_to_install(tmp_path: Path) -> None:
    (tmp_path / "pygls.py").write_text(
        "raise ModuleNotFoundError(\"No module named 'pygls'\", name='pygls')\n", "utf-8"
    )
    done = subprocess.run(
        [sys.executable, "-m", "blockcheck", "lsp"],
        env={"PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE_S,
    )
    assert done.returncode == 2
    assert 'pip install "blockcheck' in done.stderr
