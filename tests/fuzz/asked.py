"""What is asked about a layout: commands, their formats and options, and words for them."""

from __future__ import annotations

import re
from random import Random

from blockcheck.formats.registry import format_names

COMMANDS = ("channels", "power", "budget", "wake", "wires", "isolate", "where", "draw", "panel", "compare", "page")
DEAR = ("bench", "book")
CALLED = ("check", *COMMANDS, "bench", "book", "trace", "explain", "new", "")
OPTIONS = [
    "-f",
    "-o",
    "--format",
    "--output",
    "--force",
    "--paper",
    "--csv-dialect",
    "--stdin-filename",
    "--allow-outside",
    "--scenario",
    "--open",
    "--each",
    "--fail-on",
    "--baseline",
    "--mend",
    "--yes",
    "--netlist",
    "--with",
    "--without",
    "--readings",
    "--date",
    "--revision",
    "--show",
    "--only",
    "--label-size",
    "--gap",
    "--margin",
    "--start",
    "--sheet",
    "--outline",
    "--pitch",
    "--columns",
    "--group",
    "--hole",
    "--since",
    "--all",
    "--times",
    "--tolerance",
    "--pairs",
    "--tracks",
    "--ends",
    "--boards",
    "--units",
    "--length",
    "--isolators",
    "--name",
    "--from",
    "--help",
    "--version",
    "--no-outline",
    "--no-isolators",
]
VALUES = [
    "text",
    "json",
    "csv",
    "markdown",
    "html",
    "xlsx",
    "toml",
    "svg",
    "sarif",
    "junit",
    "github",
    "netlist",
    "labels-html",
    "labels-svg",
    "labels-csv",
    "comma",
    "semicolon",
    "tab",
    "error",
    "warning",
    "note",
    "never",
    "A4",
    "A3",
    "Letter",
    "210x297",
    "38x12",
    "2x0",
    "0x0",
    "1e9x1",
    "25",
    "0",
    "1",
    "2",
    "5",
    "6",
    "40",
    "-1",
    "999999",
    "nan",
    "8,8",
    "pieces",
    "totals",
    "strips",
    "none",
    "districts",
    "districts,trains",
    "beeper",
    "meter,supply",
    "drawing,bench",
    "metric",
    "imperial",
    "1-4",
    "S1,S2",
    "S1-S9",
    "out.json",
    "out.csv",
    "out.svg",
    "json=o",
    "yard.toml",
    "other.toml",
    "-",
    "missing.toml",
    ".",
    "blocks",
    "blocks.length",
    "channel-shared",
    "near",
    "--",
    "é",
]
VALUES += ["25 mm", "2.4 m", "5 % + 2 mohm", "8 ft 6 in", "", " ", "\u202e", "a" * 300, "1" * 50]
OWN = {
    "new": "--tracks --ends --boards --units --length --isolators --no-isolators --name --from -f --force",
    "wires": "--only --label-size --gap --margin --start --sheet --outline --paper -f -o --csv-dialect",
    "panel": "--pitch --columns --group --hole --paper -f -o",
    "bench": "--only --since --with --each --all --times --tolerance -f -o",
    "trace": "--since --pairs --tolerance -f -o",
    "check": "--fail-on --baseline --mend --yes -f -o --force --stdin-filename",
    "book": "--with --without --readings --date --revision -o -f --paper",
    "draw": "--show --scenario --open -f -o",
    "explain": "--all -f -o",
}


def words_of(text: str) -> list[str]:
    """Names of a layout, most of them."""
    return sorted(set(re.findall(r"[A-Za-z][A-Za-z0-9_-]*", text))) or ["S1"]


def asked(chance: Random, name: str, text: str, dear: bool = True) -> tuple[str, ...]:
    """A call about a layout: mostly a check, now and then any command in any of its formats."""
    if chance.random() < 0.4:
        return ("check", name)
    command = chance.choice(("check", *COMMANDS, *COMMANDS, *(DEAR if dear else ())))
    called = [command, name]
    if command == "where" or (command == "isolate" and chance.random() < 0.6):
        called.append(selection(chance, text))
    elif command == "isolate" and chance.random() < 0.5:
        called.append("--each")
    elif command == "compare":
        called.append(name)
    if command in ("power", "budget", "wake", "draw") and chance.random() < 0.4:
        called += ["--open", selection(chance, text)]
    if command in ("power", "budget", "wake", "draw", "isolate") and chance.random() < 0.3:
        called += ["-s", chance.choice(words_of(text))]
    if command == "bench":
        called += ["--with", ",".join(chance.sample(("beeper", "axle", "meter", "supply"), chance.randint(1, 4)))]
        called += [one for one in ("--each", "--all") if chance.random() < 0.2]
    return (*called, "-f", chance.choice(format_names(command)))


def selection(chance: Random, text: str) -> str:
    """Tracks, as they are named in a call."""
    names = words_of(text)
    some = [
        chance.choice((chance.choice(names), str(chance.randint(0, 9)), "S1-S3", "1-4"))
        for _ in range(chance.randint(1, 3))
    ]
    return ",".join(some)


def any_call(chance: Random, file: str) -> tuple[str, ...]:
    """A call with any options and words, mostly those that its command has."""
    command = chance.choice(CALLED)
    called = [command] if command else []
    if command not in ("new", "explain", ""):
        called.append(chance.choice((file, file, file, file, "-", "other.toml")))
    if command in ("compare", "trace", "where"):
        called.append(chance.choice(("other.toml", file, "-", "S1", "R1")))
    own = OWN.get(command, "-f -o --scenario --open --each --paper").split()
    for _ in range(chance.choice((0, 1, 1, 2, 2, 3, 5))):
        kind = chance.random()
        option = chance.choice(own if chance.random() < 0.8 else OPTIONS)
        if kind < 0.85:
            called += [option, chance.choice(VALUES)] if chance.random() < 0.8 else [option]
        else:
            called.insert(chance.randint(min(1, len(called)), len(called)), chance.choice(VALUES))
    return tuple(called)
