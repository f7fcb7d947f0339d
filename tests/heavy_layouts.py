"""Layouts that are short to write and long to work out: what each kind of table makes of one number."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

from tests.benchmarks.generate import layout
from tests.track_plans import double_ended, plan

ROOT = Path(__file__).resolve().parents[1]
HEAD = """format = 1
layout = { name = "Long shift", control = "dcc" }
boosters.B1 = { voltage = "14 V", current = "3 A", trip = "4 A" }
districts.main = { booster = "B1" }
board_types.t = { channels = %d, threshold = "1 mA" }
boards.D1 = { type = "t" }
"""
HARNESS = """harnesses.h = { bus = "2.5 mm2", common = "6 mm2", lead = "2 m", feeder = "0.75 mm2", \
feeder_length = "0.2 m", feeder_spacing = "0.5 m", rail = "code83", segment = "1.2 m", joint_resistance = "1 mohm" }
loads.shunter = { locomotive = true, idle = "20 mA", length = "0.2 m" }
"""


def head(blocks: int) -> str:
    return HEAD % max(blocks, 1)


def bare(n: int) -> str:
    return head(n) + f'[blocks.S1-S{n}]\nchannel = "D1.1-{n}"\n'


def yard(n: int) -> str:
    tracks = f'[blocks.S1-S{n}]\nchannel = "D1.1-{n}"\nisolator = "I1-I{n}"\nharness = "h"\n'
    tracks += 'length = "9 m"\nkind = "storage"\n'
    neck = f'[blocks.neck]\nchannel = "D1.{n + 1}"\nharness = "h"\nlength = "2 m"\nkind = "throat"\n'
    joints = f'[[joints]]\nblocks = ["neck", "S1-S{n}"]\ngap = "detected"\n'
    return head(n + 1) + HARNESS + tracks + neck + f"[isolators.I1-I{n}]\n" + joints


def undetected(n: int) -> str:
    ranges = [f"[blocks.S{4096 * k + 1}-S{min(4096 * (k + 1), n)}]" for k in range(-(-n // 4096))]
    return head(1) + "".join(f'{one}\nundetected = "a tramway"\ndistrict = "main"\n' for one in ranges)


def neck(n: int) -> str:
    joints = f'[[joints]]\nblocks = ["neck", "S1-S{n}"]\ngap = "detected"\n'
    return bare(n) + '[blocks.neck]\nundetected = "none left"\ndistrict = "main"\n' + joints


def chain(n: int) -> str:
    joints = f'[[joints]]\nblocks = ["S1-S{n - 1}", "S2-S{n}"]\ngap = "none"\n'
    return head(n) + f'[blocks.S1-S{n}]\nchannel = "D1.1-{n}"\nisolator = "I1-I{n}"\n[isolators.I1-I{n}]\n' + joints


def frogs(n: int) -> str:
    chance, lines = Random(n), [bare(2 * n)]
    for one in range(1, n + 1):
        legs = ", ".join(
            f'{leg} = "{chance.choice("ST")}{chance.randint(1, n)}"' for leg in ("toe", "through", "diverging")
        )
        lines.append(f'turnouts.T{one} = {{ block = "S{chance.randint(1, 2 * n)}", frog = "switched", {legs} }}\n')
    top, rest = lines[0].split("[blocks", 1)
    return top + "".join(lines[1:]) + "[blocks" + rest


def scenarios(n: int) -> str:
    each = "".join(
        f'[scenarios.s{k}]\nopen = ["S{k % 64 + 1}"]\nexpect = {{ dead = ["S{k % 64 + 1}"] }}\n' for k in range(n)
    )
    return yard(64) + each


def selectors(n: int) -> str:
    """A rotary switch of 12 positions for every 12 tracks."""
    n -= n % 12
    tracks = yard(n).replace(f'isolator = "I1-I{n}"\n', "").replace(f"[isolators.I1-I{n}]\n", "")
    return tracks + "".join(f'[selectors.R{k}]\ntracks = ["S{12 * k + 1}-S{12 * k + 12}"]\n' for k in range(n // 12))


def one_selector(n: int) -> str:
    tracks = yard(n).replace(f'isolator = "I1-I{n}"\n', "").replace(f"[isolators.I1-I{n}]\n", "")
    return tracks + f'[selectors.R]\ntracks = ["S1-S{n}"]\n'


def interlocks(n: int) -> str:
    usual = yard(n).replace(f"[isolators.I1-I{n}]\n", f'[isolators.I1-I{n}]\nusually = "open"\n')
    pairs = "".join(
        f'[[interlocks]]\nnever = {{ I{k} = "closed", I{k + 1} = "closed" }}\nbecause = "relays"\n' for k in range(1, n)
    )
    return usual + pairs


def one_interlock(n: int) -> str:
    usual = yard(n).replace(f"[isolators.I1-I{n}]\n", f'[isolators.I1-I{n}]\nusually = "open"\n')
    return usual + f'[[interlocks]]\ncontrols = ["I1-I{n}"]\nat_most_one = "closed"\nbecause = "buttons"\n'


def routes(n: int) -> str:
    """A ladder of points that pass power to one leg."""
    each = f'[turnouts.W1-W{n - 1}]\nblock = "neck"\ndiverging = "S1-S{n - 1}"\nroutes = true\nfrog = "switched"\n'
    legs = (f'[turnouts.W{k}]\nthrough = "{f"W{k + 1}" if k < n - 1 else f"S{n}"}"\n' for k in range(1, n))
    return yard(n) + each + "".join(legs)


def panels(n: int) -> str:
    top = yard(n).replace(f"[isolators.I1-I{n}]\n", f'[isolators.I1-I{n}]\npanel = "p"\n')
    keys = 'at = "front"\nwire = "0.5 mm2"\nfrom_board = "2 m"\nto_bus = "2 m"\npitch = "10 mm"\n'
    return top + f'[panels.p]\n{keys}rows = [["I1-I{n}"]]\n'


def groups(n: int) -> str:
    each = "".join(f'[blocks.S{k}]\ngroup = "g{k % (n // 2 or 1)}"\n' for k in range(1, n + 1))
    return yard(n) + each + "".join(f"[groups.g{k}]\ndeck = {k % 9 + 1}\n" for k in range(n // 2))


def series(n: int) -> str:
    """Every track behind four isolators."""
    tracks = yard(n).replace(
        f'isolator = "I1-I{n}"', "isolator = [" + ", ".join(f'"{c}1-{c}{n}"' for c in "IABC") + "]"
    )
    return tracks + "".join(f"[isolators.{c}1-{c}{n}]\n" for c in "ABC")


def deep_series(n: int) -> str:
    """One block behind so many isolators."""
    own = ", ".join(f'"I{k}"' for k in range(1, n + 1))
    return head(1) + f'[blocks.S1]\nchannel = "D1.1"\nisolator = [{own}]\n[isolators.I1-I{n}]\n'


def breakers(n: int) -> str:
    """A district, board and block for each breaker, all on one booster, in a row of joints."""
    feed = 'feed = { wire = "2.5 mm2", length = "3 m" }\n'
    each = "".join(
        f'[districts.d{k}]\nbooster = "B1"\ntrip = "2 A"\ndelay = "{k % 50 + 1} ms"\n{feed}'
        f'[boards.E{k}]\ntype = "t"\nbanks = ["d{k}"]\n'
        f'[blocks.S{k}]\nchannel = "E{k}.1"\nharness = "h"\nlength = "3 m"\n'
        for k in range(1, n + 1)
    )
    joints = f'[[joints]]\nblocks = ["S1-S{n - 1}", "S2-S{n}"]\ngap = "both"\n'
    return head(4).replace('boards.D1 = { type = "t" }\n', "") + HARNESS + each + joints


def trains(n: int) -> str:
    each = "".join(f'[trains.t{k}]\nvehicles = {{ shunter = 1 }}\nat = "S{k % 40 + 1}"\n' for k in range(n))
    return yard(40) + each


def fine(n: int) -> str:
    """The joints of the example's rails every 1 m / n."""
    text = (ROOT / "examples/small-yard/yard.toml").read_text("utf-8")
    assert 'segment = "1.2 m"' in text
    return text.replace('segment = "1.2 m"', f'segment = "{1000 / n:g} mm"')


def far(n: int) -> str:
    text = (ROOT / "examples/faulty-yard/yard.toml").read_text("utf-8")
    found = next(line for line in text.splitlines() if line.startswith("lead = "))
    return text.replace(found, f'lead = "{n} m"', 1)


def drops(n: int) -> str:
    """Few tracks with so many drops in all."""
    return yard(8).replace('length = "9 m"', f'length = "{n / 16:g} m"')


def fan(n: int) -> str:
    text = double_ended(n).text
    return text.replace("channels = 200", f"channels = {n + 10}")


def points(n: int) -> str:
    text = plan(Random(7), n, n)
    return text.replace("channels = 200", f"channels = {text.count('blocks.') + 1}")


LAYOUTS: dict[str, tuple[Callable[[int], str], int]] = {
    # what is written of n, and the n that is usual
    "bare": (bare, 40),
    "bare-many": (bare, 1000),
    "yard": (yard, 20),
    "yard-many": (yard, 500),
    "undetected": (undetected, 4096),
    "neck": (neck, 1000),
    "chain": (chain, 500),
    "frogs": (frogs, 100),
    "scenarios": (scenarios, 225),
    "selectors": (selectors, 120),
    "one-selector": (one_selector, 60),
    "interlocks": (interlocks, 60),
    "one-interlock": (one_interlock, 60),
    "routes": (routes, 40),
    "panels": (panels, 200),
    "groups": (groups, 200),
    "series": (series, 60),
    "deep-series": (deep_series, 100),
    "breakers": (breakers, 60),
    "trains": (trains, 500),
    "fine": (fine, 100),
    "far": (far, 100_000),
    "drops": (drops, 1000),
    "fan": (fan, 41),
    "fan-many": (fan, 250),
    "points": (points, 100),
    "wired": (lambda n: layout(n, wired=True), 100),
}
