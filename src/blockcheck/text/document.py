"""The located document: the values of a layout, and the way from a path to a line.

``Document.place(path)`` is the only way from a path to a place. Positions are scanned only when one is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, NamedTuple

from attrs import field, frozen

from blockcheck.core.spans import Path, Place, SourceFile, Span

if TYPE_CHECKING:
    from blockcheck.text.positions import Spot

Raw = dict[str, Any]
STOCK = "stock:"
"""An include that begins so names a file of the stock data that ships with the package; it is printed by that name."""


class Tables(NamedTuple):
    """What the reader must know of the language to join files and write out ranges; what a key means it need not.

    ``named`` are the tables of named tables, ``arrays`` those that are lists of tables. ``dealt``: table -> its keys
    that hold names, or (True) numbers, in which a range is dealt out; free text never is. ``paired``: list of tables ->
    its key of two names, either of which may be a range.
    """

    named: tuple[str, ...]
    arrays: tuple[str, ...]
    dealt: Mapping[str, Mapping[str, bool]]
    paired: Mapping[str, str]


@frozen(eq=False, repr=False, slots=False)
class ReadFile:
    """One file of a layout: its text and the values that stand in it, as written."""

    source: SourceFile
    values: Raw
    path: FilePath | None = None
    """Where it lies, where it was read from a file."""
    _spots: dict[Path, Spot] = field(factory=dict, init=False)

    @property
    def stock(self) -> bool:
        """Whether it is stock data that ships with the package."""
        return self.source.name.startswith(STOCK)

    @property
    def spots(self) -> dict[Path, Spot]:
        """Where every path of this file is written; scanned when it is first asked for."""
        if not self._spots:
            from blockcheck.text.positions import scan  # only wanted when there is something to point at

            self._spots.update(scan(self.source.text))
        return self._spots

    def place(self, path: Path, key: bool = False) -> Place:
        """The place of the value (or of the key) at a path as written in this file; of its nearest parent if none."""
        while path:
            spot = self.spots.get(path)
            if spot is not None:
                span = spot.key if key and spot.key is not None else spot.value
                return self.source.place(span)
            path, key = path[:-1], False
        return self.source.place(Span(0, 0))


class Layer(NamedTuple):
    """One written table (or array item) that a table of the document is made from."""

    file: ReadFile
    path: Path
    keys: frozenset[str] | None = None
    """The keys that it decides; None where it decides all."""


class Document(NamedTuple):
    """All files of a layout as one: includes joined, ranges written out.

    ``values`` is shaped like the TOML of one big file. ``layers`` maps a path of the document to the written tables
    that it came from, the one that refines first.
    """

    name: str
    files: tuple[ReadFile, ...]
    values: Raw
    layers: dict[Path, tuple[Layer, ...]]
    tables: Tables

    def value(self, path: Path) -> Any:
        """The value at a path. Raises KeyError where there is none."""
        found: Any = self.values
        for step in path:
            try:
                found = found[step]
            except (IndexError, TypeError):
                raise KeyError(path) from None
        return found

    def place(self, path: Path, key: bool = False) -> Place:
        """Where the value at ``path`` (or its key) was written; where it was not, the nearest table around it."""
        file, written = self.written_in(path)
        return file.place(written, key)

    def written(self, path: Path) -> Path:
        """A path as its file has it: the range that a name came from, not the name."""
        return self.written_in(path)[1]

    def written_in(self, path: Path) -> tuple[ReadFile, Path]:
        """The file that a path is written in, and the path as that file has it."""
        for cut in range(len(path), 0, -1):
            layers = self.layers.get(path[:cut])
            if layers is None:
                continue
            rest = path[cut:]
            for layer in layers:
                if not rest or layer.keys is None or rest[0] in layer.keys:
                    return layer.file, layer.path + rest
            return layers[0].file, layers[0].path
        return self.files[0], path
