"""Words of the trade that the language lacks: what to do instead, since the nearest spelling would be another thing.

A word is found as the whole name, as its plural, or as one of the words of a name such as ``panel_lamp``.
"""

from __future__ import annotations

import re
from itertools import pairwise

_RUN = "list its wires as [runs.NAME]"
_LOAD = "a vehicle's currents are idle, running and stalled of [loads.NAME]"
_SOURCE = "what feeds track is a [boosters.NAME], by its voltage and current"
_SPOT = "only detectors of current through the rails are"
_TRACK = "write each way through it as a block, and joints where it meets others"
_ACROSS = "across of [blocks.NAME], and at the end of a bus pair terminator of [harnesses.NAME]"
_PLACE = "lengths alone count here"
_TRIP = "where it opens at a current, write that as trip of the district or the booster"

NOT_DESCRIBED = {
    # signals and lights
    **dict.fromkeys(("signal", "semaphore", "aspect"), f"signals are not described here: {_RUN}"),
    **dict.fromkeys(
        ("lamp", "led", "light", "bulb", "lighting"),
        f"lamps are not described here as such: across the rails one is {_ACROSS}; else, {_RUN}",
    ),
    # what moves points
    **dict.fromkeys(
        ("servo", "motor", "solenoid", "actuator", "switch_machine"),
        f"what moves points is not described here, only how they conduct (frog, toe, through, diverging): {_RUN}",
    ),
    "relay": "a relay's coil is not described here; its contact in a track's feed is an isolator, [isolators.NAME]",
    **dict.fromkeys(
        ("rotary", "wafer", "multiway"),
        "how a switch is made is not described here; one that chooses one of several tracks is a [selectors.NAME]",
    ),
    # vehicles
    **dict.fromkeys(
        ("decoder", "dcc_address", "loco_address", "cv", "function"),
        f"decoders are not described here; {_LOAD}, their charge its capacitance",
    ),
    **dict.fromkeys(("speed", "weight", "mass", "traction"), f"how a vehicle runs is not described here; {_LOAD}"),
    # what feeds, and what protects
    **dict.fromkeys(
        ("throttle", "controller", "command_station", "cab"),
        f"throttles and controllers are not described here; {_SOURCE}",
    ),
    **dict.fromkeys(
        ("mains", "transformer", "supply", "psu", "rectifier"),
        f"supplies are not described here, and mains wiring is for licensed electricians; {_SOURCE}",
    ),
    **dict.fromkeys(("thermal", "polyfuse", "ptc"), f"what opens by heat is not described here; {_TRIP}"),
    **dict.fromkeys(("ground", "earth", "grounding", "earthing"), "earthing is not described here"),
    # parts in the wiring
    **dict.fromkeys(("diode", "inductor", "choke"), "it is not described here, and not in any current"),
    **dict.fromkeys(("snubber", "filter"), f"it is not described here as such: across the rails it is {_ACROSS}"),
    **dict.fromkeys(
        ("twist", "twisted", "shield", "shielding"),
        "how wires lie is not described here; their pair's capacitance is that of [harnesses.NAME]",
    ),
    **dict.fromkeys(
        ("data", "network", "usb", "wifi"), f"wires and radio that carry data are not described here: {_RUN}"
    ),
    # detectors of another kind
    **dict.fromkeys(
        ("sensor", "reed", "magnet", "hall", "infrared", "photocell", "rfid"),
        f'such detectors are not described here, {_SPOT}; a block without one says why: undetected = "..."',
    ),
    # track
    **dict.fromkeys(
        ("turntable", "traverser", "crossing", "diamond", "slip", "double_slip"),
        f"it is not described here as one: {_TRACK}",
    ),
    **dict.fromkeys(
        ("catenary", "overhead", "pantograph", "third_rail"),
        "current by anything but the two running rails is not described here",
    ),
    **dict.fromkeys(
        ("grade", "gradient", "slope", "radius", "curve", "height", "elevation", "x", "y"),
        f"where track lies is not described here; {_PLACE}",
    ),
    # how it is operated, and what it costs
    **dict.fromkeys(
        ("timetable", "schedule", "waybill"),
        "when trains run is not described here; how the layout then stands is a scenario, [scenarios.NAME]",
    ),
    **dict.fromkeys(
        ("price", "cost", "supplier", "manufacturer", "vendor"),
        "what parts cost and who sells them is not described here; write it in a comment, behind #",
    ),
}
"""Word -> that it is not described, and what to do instead. Signals, motors, supplies and data carry no track power;
heat, fields and speed are not computed."""


def not_described(name: str) -> str | None:
    """What to do instead of a name of the trade that is no key and no table, or None for any other name."""
    whole = re.sub(r"[\s-]+", "_", name.casefold())
    words = whole.split("_") if len(whole) < 80 else []
    for word in (whole, *map("_".join, pairwise(words)), *words):
        for one in (word, word.removesuffix("s")):
            if one in NOT_DESCRIBED:
                return NOT_DESCRIBED[one]
    return None
