"""What the names and ranges of a layout stand for. One that does not resolve is listed, and a rule reports it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import field, frozen

from blockcheck.core.faults import Faults
from blockcheck.core.findings import Label
from blockcheck.core.shown import shown
from blockcheck.core.spans import Path
from blockcheck.model.layout import Across, Layout
from blockcheck.model.wiring import Unresolved
from blockcheck.text.document import Document
from blockcheck.text.ranges import RangeError, names_of


@frozen(eq=False, repr=False, slots=False)
class Naming:
    """The names of a layout. ``faults`` and ``unresolved`` collect what is wrong."""

    document: Document
    layout: Layout
    faults: Faults = field(factory=Faults)
    unresolved: list[Unresolved] = field(factory=list)
    choices: dict[str, tuple[str, ...]] = field(factory=dict)
    """Kind of thing -> all names of that kind, once for all that do not resolve."""

    def fault(self, path: Path, message: str, help_: str, key: bool = False, related: tuple[Label, ...] = ()) -> None:
        self.faults.add(self.document.place(path, key), message, help_, *related)

    def known(self, path: Path, name: str | None, kind: str, *tables: Iterable[str], is_key: bool = False) -> bool:
        """Whether a name exists in one of the tables; where it does not, it is listed as unresolved."""
        if name is None or any(name in table for table in tables):
            return True
        if any(True for _ in self.names(path, name, one_of=kind, is_key=is_key)):
            known = self.choices.setdefault(kind, tuple(one for table in tables for one in table))
            self.unresolved.append(Unresolved(path, name, kind, known, is_key))
        return False

    def across(self, path: Path, part: Across | None) -> None:
        if part is not None and part.resistance_ohm is None and part.capacitance_f is None:
            self.fault(path, "nothing is said of what lies here", f'write {path[-1]} = {{ resistance = "1.2 kohm" }}')

    def districts(self) -> str:
        """All districts, for a message."""
        names = [f'"{name}"' for name in self.layout.districts]
        return " or ".join(names[:8]) or "the districts, of which there is none yet"

    def names(self, path: Path, text: str, one_of: str | None = None, is_key: bool = False) -> Iterator[str]:
        """The names that a text stands for. ``one_of`` says what it should be one name of, where no range may stand."""
        if one_of is None and text in self.layout.blocks:
            yield text
            return
        try:
            names = names_of(text)
        except RangeError as error:
            self.fault(path, error.message, error.help, is_key)
            return
        if names is not None and one_of is not None:
            help_ = f'write one name, such as "{names[0]}"'
            self.fault(path, f"{shown(text)} is a range; one {one_of} is wanted here", help_, is_key)
            return
        yield from names or (text,)
