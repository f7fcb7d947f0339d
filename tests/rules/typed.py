# ruff: noqa: E501
"""What a person types who does what a mend says in words: for each finding that carries no edits, in their order."""

from __future__ import annotations

Typed = list[tuple[str, str]]
"""What stands there once, and what is typed in its place."""

HOLDS = 'detection = "held"\nhold = "2.2 kohm"'
HIGHER: Typed = [('rating = "0.5 A"', 'rating = "5 A"')]
POWER = """
[boosters.B1]
voltage = "14 V"
current = "3 A"

[districts.yard]
booster = "B1"
"""
BLOCK = """
[board_types.plain]
channels = 1
threshold = "1.5 mA"

[boards.D1]
type = "plain"

[blocks.S1]
channel = "D1.1"
"""

TURNED = """districts.line = { booster = "B1" }
districts.turn = { booster = "B1", polarity = "automatic" }"""
TYPED: dict[str, list[Typed]] = {
    "bank-district-mismatch/bad": [[('"D1.2"\ndistrict = "east"', '"D1.2"\ndistrict = "west"')]],
    "bank-district-mismatch/bad-2": [
        [('"D1.1", district = "dock"', '"D1.1", district = "east"')],
        [('"D2.1", district = "dock"', '"D2.1", district = "east"')],
    ],
    "block-without-channel/bad": [[("[blocks.M2]", '[blocks.M2]\nundetected = "a dead end that all can see"')]],
    "block-without-channel/bad-2": [
        [
            ("[blocks.M2-M3]", '[blocks.M2-M3]\nundetected = "a dead end that all can see"'),
            ('gap = "none"', 'gap = "both"'),
        ]
    ]
    * 2,
    "booster-over-current/bad": [
        [
            ('districts.west = { booster = "B1"', 'districts.west = { booster = "B2"'),
            ("districts.east", 'boosters.B2 = { voltage = "14 V", current = "1 A" }\ndistricts.east'),
        ]
    ],
    "booster-over-current/bad-2": [[('slate = "running" }', 'slate = "running" }, open = ["W1"]')]],
    "booster-over-current/bad-3": [[("count = 6 }, {", "count = 1 }, {")]],
    "channel-crosstalk/bad-3": [
        [("channels = 1", "channels = 2"), ('[blocks.P2]\nchannel = "D1.1"', '[blocks.P2]\nchannel = "D1.2"')]
    ],
    "channel-crosstalk/bad-4": [
        [("isolators.I1 = {}", "isolators.I1-I2 = {}"), ('isolator = "I1"', 'isolator = "I1-I2"')]
    ],
    "channel-out-of-range/bad": [
        [("channels = 3", "channels = 4"), ('type = "plain" }', 'type = "plain", spare = [3] }')]
    ],
    "channel-out-of-range/bad-2": [[('"D1.0"', '"D1.1"'), ("spare = [1, 4]", "spare = [4]")]],
    "channel-over-current/bad": [[("pug = 6", "pug = 5")]],
    "channel-over-current/bad-2": [[("pug = 5", "pug = 1")]],
    "channel-over-current/bad-3": [[('channel_current = "0.5 A"', 'channel_current = "1 A"')]],
    "channel-over-current/bad-4": [[("pug = 6", "pug = 5")]],
    "channel-shared/bad": [
        [
            ('[blocks.H4]\nchannel = "D1.2"', '[blocks.H4]\nchannel = "D2.1"'),
            ("boards.D1", 'boards.D2 = { type = "plain", spare = [2, 3] }\nboards.D1'),
        ]
    ],
    "channel-shared/bad-2": [
        [
            ('channel = "D1.1"\nisolator = "I1"', 'channel = "D1.1-3"\nisolator = "I1-I3"'),
            ("[isolators.I1]", "[isolators.I1-I3]"),
            (", spare = [2, 3]", ""),
            ('gap = "none"', 'gap = "detected"'),
        ]
    ],
    "contact-over-current/bad": [HIGHER],
    "contact-over-current/bad-2": [HIGHER],
    "contact-over-current/bad-3": [HIGHER],
    "contact-over-current/bad-4": [HIGHER],
    "contact-over-current/bad-5": [HIGHER],
    "contact-over-current/bad-6": [HIGHER, HIGHER],
    "contact-over-current/bad-7": [HIGHER, HIGHER],
    "detection-not-dropped/bad": [[('hold = "10 kohm"\n', "")]],
    "detection-not-dropped/bad-2": [[('hold = "10 kohm"\n', "")]],
    "detection-not-dropped/bad-3": [[("[isolators.I1]", '[isolators.I1]\ndetection = "held"')]],
    "detection-not-dropped/bad-4": [[("[isolators.I1]", '[isolators.I1]\ndetection = "held"')]],
    "detection-not-held/bad": [[('detection = "held"', 'detection = "held"\nhold = "10 kohm"')]],
    "detection-not-held/bad-2": [[('detection = "held"', 'detection = "held"\nhold = "10 kohm"')]],
    "detection-not-held/bad-4": [[('hold = "10 kohm"', 'hold = "4.7 kohm"')]],
    "detection-not-held/bad-5": [[('hold = "100 ohm"', 'hold = "1.5 kohm"')]],
    "detection-not-held/bad-6": [
        [('running = "0.3 A" }', 'running = "0.3 A", axle = "4.7 kohm" }'), ("10 kohm", "1 kohm")]
    ],
    "detection-not-held/bad-7": [[('detection = "held"', 'detection = "off"')]],
    "detection-not-held/bad-8": [[('hold = "10 kohm"', 'hold = "4.7 kohm"')]],
    "detection-not-held/bad-9": [[('detection = "held"', 'detection = "held"\nhold = "1.5 kohm"')]],
    "detection-not-held/bad-10": [[('detection = "held"', 'detection = "off"')]],
    "district-near-limit/bad": [[("count = 10", "count = 8")]],
    "district-near-limit/bad-2": [
        [
            (
                'districts.east = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 5',
                'districts.east = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 3',
            )
        ]
    ],
    "district-near-limit/bad-3": [[('coal = "running" } }', 'coal = "running" }, open = ["S1"] }')]],
    "district-near-limit/bad-4": [[("count = 8", "count = 5")], [("count = 8", "count = 6")]],
    "district-near-limit/bad-7": [
        [
            ("[blocks.W1]", '[isolators.I1]\n\n[blocks.W1]\nisolator = "I1"'),
            ("scenarios.rush = { ", 'scenarios.rush = { open = ["I1"], '),
        ]
    ],
    "district-near-limit/bad-5": [
        [
            (
                'east = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 8',
                'east = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 7',
            )
        ],
        [
            (
                'west = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 8',
                'west = { booster = "B1", current = "0.8 A", expects = [{ load = "pug", count = 7',
            )
        ],
    ],
    "district-near-limit/bad-6": [[("count = 10", "count = 8")]],
    "district-over-current/bad": [[("count = 12", "count = 8")]],
    "district-over-current/bad-2": [[("count = 12", "count = 8")]],
    "district-over-current/bad-3": [
        [('{ coal = "running", slate = "running" } }', '{ coal = "running", slate = "running" }, open = ["S2"] }')]
    ],
    "district-over-current/bad-4": [[("count = 10", "count = 7")]],
    "district-over-current/bad-5": [[("count = 12", "count = 8")]],
    "districts-joined/bad-7": [
        [
            ('isolator = "X2"', 'isolator = "X1"'),
            ('[isolators.X2]\ncontact = "changeover"\nbetween = ["east", "west"]\n', ""),
        ]
    ],
    "expectation-impossible/bad": [[("count = 8", "count = 6")]],
    "expectation-impossible/bad-2": [[("count = 7", "count = 6")]],
    "expectation-impossible/bad-3": [[("count = 3", "count = 2")]],
    "false-clear/bad": [[('closed = ["I2"]', 'closed = ["I1", "I2"]'), ('open = ["I1"], ', "")]],
    "false-clear/bad-2": [[('usually = "open"\n', "")]],
    "false-clear/bad-3": [[("vehicles = { pug = 1 }", "vehicles = { pug = 1, wagon = 1 }")]],
    "false-clear/bad-4": [[('length = "20 cm" }', 'length = "20 cm", axle = "1 kohm" }')]],
    "false-clear/bad-5": [[('axle = "10 kohm"', 'axle = "4.7 kohm"')]],
    "false-occupancy/bad": [[('lead = "30 m"', 'lead = "10 m"')]],
    "false-occupancy/bad-2": [[('leakage = "100 kohm m"', 'leakage = "1 Mohm m"')]],
    "false-occupancy/bad-3": [[('leakage = "250 kohm m"', 'leakage = "1 Mohm m"')]],
    "occupied-for-ever/bad": [[('resistance = "4.7 kohm"', 'resistance = "33 kohm"')]],
    "occupied-for-ever/bad-2": [[('terminator = { resistance = "100 ohm", capacitance = "0.1 uF" }\n', "")]],
    "occupied-for-ever/bad-3": [[('resistance = "18 kohm"', 'resistance = "33 kohm"')]],
    "harness-two-returns/bad": [
        [
            (
                '[blocks.W1-W2]\nchannel = "D1.2-3"\nharness = "deck"',
                '[blocks.W1-W2]\nchannel = "D1.2-3"\nharness = "quay"',
            ),
            ("harnesses.deck = {", 'harnesses.quay = { bus = "1.5 mm2", common = "2.5 mm2" }\nharnesses.deck = {'),
        ]
    ],
    "harness-two-returns/bad-2": [[(', return = "black"', "")]],
    "inrush-lockout/bad": [[('delay = "90 ms"', 'delay = "200 ms"')]],
    "inrush-lockout/bad-2": [[("count = 20", "count = 4")]],
    "inrush-lockout/bad-3": [[("count = 20", "count = 4")]],
    "inrush-lockout/bad-4": [[('delay = "90 ms"', 'delay = "200 ms"')]],
    "inrush-lockout/bad-5": [[('delay = "90 ms"', 'delay = "110 ms"')]],
    "inrush-lockout/bad-6": [[("count = 20", "count = 4")]],
    "inrush-lockout/bad-7": [[('delay = "90 ms"', 'delay = "110 ms"')]],
    "inrush-lockout/bad-8": [[('delay = "90 ms"', 'delay = "110 ms"')]],
    "isolation-no-effect/bad": [[("[blocks.S1]\n", '[blocks.S1]\nisolator = "I1"\n')]],
    "isolation-no-effect/bad-2": [[('isolates = ["S1", "S2"]', 'isolates = ["S1"]')]],
    "isolation-no-effect/bad-3": [
        [('isolates = ["S2"]', 'isolates = ["S1"]')],
        [('isolates = ["S1"]', 'isolates = ["S2"]')],
    ],
    "isolation-no-effect/bad-4": [[('isolates = ["S1"]\n', "")]],
    "isolation-no-effect/bad-5": [[('contact = "changeover"', 'contact = "changeover"\npoles = 2')]],
    "isolation-overreach/bad-2": [[('isolates = ["S1"]', 'isolates = ["S1", "S2"]')]],
    "isolation-overreach/bad-3": [[('channel = "D1.2"', 'channel = "D1.2"\nisolator = "X1"')]],
    "isolation-overreach/bad-4": [[('channel = "D1.2"', 'channel = "D1.2"\nisolator = "X1"')]],
    "isolation-overreach/bad-5": [[('side = "before-detector"', 'side = "after-detector"')]],
    "isolation-overreach/bad": [[('side = "before-detector"', 'side = "after-detector"')]],
    "isolator-unused/bad": [[('[isolators.I3]\npanel = "right, row 1"\n', "")]],
    "joint-missing/bad-6": [
        [("[blocks.N1-N6]", '[[joints]]\nblocks = ["neck", "N1-N6"]\ngap = "detected"\n\n[blocks.N1-N6]')]
    ],
    "joint-missing/bad-7": [[("[loads.pug]", '[[joints]]\nblocks = ["N2", "N3"]\ngap = "detected"\n\n[loads.pug]')]],
    "name-unused/bad": [
        [("boosters.B1-B2", "boosters.B1")],
        [("boards.D1-D2", "boards.D1"), ("[boards.D2]\nspare = [1, 2]\n", "")],
        [("trains.coal = { vehicles = { shunter = 1 } }\n", "")],
        [('wires.crimson = { size = "2.5 mm2" }\n', ""), ('wires.thick = { size = "2.5 mm2" }\n', "")],
        [('harnesses.deck = { bus = "1.5 mm2" }\n', "")],
        [('districts.dock = { booster = "B1" }\n', "")],
        [('board_types.fancy = { channels = 2, threshold = "1.5 mA" }\n', "")],
        [('rails.light = { resistance = "0.1 ohm/m" }\n', "")],
    ],
    "name-unused/bad-2": [
        [
            ("[loads.shunter]\n", '[loads.shunter]\nidle = "0.2 A"\n'),
            ('idle = "90 mA"\n', ""),
            ('[loads.shuntr]\nidle = "0.2 A"\n', ""),
        ]
    ],
    "name-unused/bad-3": [[("tnak1", "tank1")]],
    "names-alike/bad": [[("loads.Pug", "loads.van")], [('blocks."\u04051"', "blocks.S2")]],
    "names-alike/bad-2": [[('group = "S10"', 'group = "S1O"')], [('blocks."cafe\u0301"', "blocks.bar")]],
    "names-alike/bad-3": [[("fasica", "fascia")], [("Facia", "fascia")]],
    "nothing-described/bad": [[('control = "dcc" }', 'control = "dcc" }\n' + POWER + BLOCK)]],
    "nothing-described/bad-2": [[('control = "dcc"\n', 'control = "dcc"\n' + BLOCK)]],
    "pole-out-of-range/bad": [[("[isolators.I1]", "[isolators.I1]\npoles = 2")]],
    "pole-out-of-range/bad-2": [[('"I1.0"', '"I1.1"')]],
    "pole-shared/bad": [
        [
            ('isolator = "I1"\n', ""),
            (
                "[isolators.I1]",
                '[blocks.F1]\nisolator = "I1"\n\n[blocks.F2]\nisolator = "I1.2"\n\n[blocks.F3]\nisolator = "I1.3"\n\n[isolators.I1]\npoles = 3',
            ),
        ]
    ],
    "pole-shared/bad-2": [
        [("[isolators.I1]", '[blocks.F3]\nisolator = "I1.2"\n\n[blocks.F4]\nisolator = "I1.2"\n\n[isolators.I1]')]
    ],
    "pole-shared/bad-3": [[("[isolators.I1]", '[blocks.F1]\nisolator = "I1"\n\n[isolators.I1]')]],
    "polarity-untold/bad": [
        [
            ('blocks = ["main", "neck"]', 'ends = ["far", "near"]\nblocks = ["main", "neck"]'),
            ('blocks = ["loop", "neck"]', 'ends = ["far", "near"]\nblocks = ["loop", "neck"]'),
        ]
    ],
    "polarity-untold/bad-2": [
        [
            (
                '[[joints]]\nblocks = ["neck", "loop"]\ngap = "detected"\n\n[[joints]]\nblocks = ["neck", "loop"]\ngap = "detected"\n',
                '[[joints]]\nblocks = ["neck", "loop"]\ngap = "detected"\nends = ["far", "near"]\n[[joints]]\nblocks = ["neck", "loop"]\ngap = "detected"\nends = ["far", "near"]\n',
            )
        ]
    ],
    "polarity-untold/bad-3": [
        [
            (
                'gap = "detected"\n\n[[joints]]\nblocks = ["ring", "ring"]\ngap = "detected"\n',
                'gap = "detected"\nends = ["far", "near"]\n\n[[joints]]\nblocks = ["ring", "ring"]\ngap = "detected"\n',
            )
        ]
    ],
    "rails-crossed/bad": [[('ends = ["far", "far"]', 'ends = ["near", "far"]')]],
    "rails-crossed/bad-2": [[('ends = ["far", "far"]', 'ends = ["near", "far"]')]],
    "rails-crossed/bad-3": [
        [
            ('districts.line = { booster = "B1" }', TURNED),
            ("channels = 3,", "channels = 3, bank_size = 1,"),
            ('{ type = "plain" }', '{ type = "plain", banks = ["line", "line", "turn"] }'),
        ]
    ],
    "reversing-neighbours/bad": [[('length = "1 m"', 'length = "2 m"')]],
    "reversing-neighbours/bad-2": [[('"back"]', '"loop"]')]],
    "reversing-tied/bad": [[('polarity = "automatic", return = "R1"', 'polarity = "automatic"')]],
    "reversing-too-short/bad": [[("van = 6", "van = 4")]],
    "scenario-expectation/bad": [[('["S1-S2", "S3"]', '["S3"]')]],
    "scenario-expectation/bad-2": [[('open = ["1-2"]', 'open = ["1"]')]],
    "scenario-expectation/bad-3": [[('expect.occupied = "S1-S2"', 'expect.clear = "S1-S2"')]],
    "scenario-expectation/bad-4": [[('["S1", "S2", "S3"]', '["S1", "S3"]')]],
    "scenario-expectation/bad-5": [[('open = ["I1"], ', "")]],
    "scenario-expectation/bad-6": [[('axle = "10 kohm"', 'axle = "4.7 kohm"')], [('["S1", "W"]', '["S1"]')]],
    "short-will-not-trip/bad": [[('length = "40 m"', 'length = "5 m"')]],
    "short-will-not-trip/bad-2": [[('["0 m"]', '["0 m", "10 m", "20 m", "30 m"]')]],
    "short-will-not-trip/bad-3": [[('wire = "thin"', 'wire = "plain"')]],
    "short-will-not-trip/bad-4": [[('wire = "thin"', 'wire = "plain"')]],
    "storage-not-isolatable/bad-4": [[("routes = false", "routes = true")]],
    "storage-not-isolatable/bad": [
        [('channel = "D1.2"', 'channel = "D1.2"\nisolator = "I2"'), ("[isolators.I1]", "[isolators.I1-I2]")]
    ],
    "threshold-too-high/bad": [[('"2.5 A"', '"2.5 mA"')]],
    "threshold-too-high/bad-2": [[('channel_current = "1.5 mA"', 'channel_current = "1.5 A"')]],
    "threshold-too-high/bad-3": [[('"0.6 A"', '"0.6 mA"')]],
    "track-number-clash/bad": [[("track = 2", "track = 3")]],
    "track-number-clash/bad-2": [[("track = 1", "track = 3")]],
    "track-number-clash/bad-3": [[("[blocks.M1]", "[blocks.M1]\ntrack = 2")]],
    "train-too-long/bad": [[("wagon = 19", "wagon = 18")]],
    "train-too-long/bad-3": [[('length = "1.8 m"', 'length = "1.5 m"')]],
    "train-too-long/bad-5": [[('at = "neck" }\ntrains.mail', 'at = "neck", state = "running" }\ntrains.mail')]],
    "trains-do-not-fit/bad": [[('wagon = 8 }, at = "S1"', 'wagon = 8 }, at = "S2"')]],
    "trains-do-not-fit/bad-2": [
        [
            (
                'evening = { at = { mail = "S1" } }\nscenarios.night = { at = { mail = "S1" } }',
                'evening = { at = { mail = "S2" } }\nscenarios.night = { at = { mail = "S2" } }',
            )
        ]
    ],
    "trains-do-not-fit/bad-3": [[('offset = "1.35 m"', 'offset = "1.5 m"')]],
    "trains-do-not-fit/bad-4": [[(', offset = "1.5 m"', "")]],
    "turnouts-disagree/bad-3": [[('through = "N4"\ntoe = "line"', 'through = "N4"\ntoe = "T2"')]],
    "turnouts-disagree/bad-4": [[('diverging = "N4"', 'diverging = "N1"')]],
    "turnouts-disagree/bad-7": [
        [
            ('[turnouts.S2]\nblock = "spur"\ndiverging = "N4"', '[turnouts.S2]\nblock = "spur"\ndiverging = "N5"'),
            ("channels = 7", "channels = 8"),
            ("[blocks.spur]", '[blocks.N5]\nchannel = "D1.8"\n\n[blocks.spur]'),
            ('["N4", "spur"]', '["N4-N5", "spur"]'),
        ]
    ],
    "turnouts-disagree/bad-8": [[('["far", "N4"]', '["N4", "far"]')]],
    "unknown-name/bad": [[('"E1.2"', '"D1.2"')], [('"J1"', '"I1"')], [('"kay"', '"quay"')]],
    "unknown-name/bad-2": [
        [('"B2"', '"B1"')],
        [('"hard"', '"soft"')],
        [(', expects = [{ load = "pug", count = 1 }]', "")],
        [('wire = "stout"', 'wire = "thick"'), ('common = "stout"', 'common = "thick"')],
    ],
    "unknown-name/bad-4": [
        [('"Q3"', '"Q2"')],
        [('"Q4"', '"Q1"')],
        [('"T9"', '"Q2"')],
        [
            ('"quay", "barge"', '"quay", "shed"'),
            ("board_types", 'districts.shed = { booster = "B1" }\nboard_types'),
            ('type = "two"', 'type = "two", banks = "quay"'),
            ('isolator = "X1"', 'isolator = "X1", district = "quay"'),
        ],
        [('block = "throat"', 'block = "Q1"')],
    ],
    "unknown-name/bad-5": [
        [('"Q7"', '"Q1"')],
        [('"Q8"', '"Q1"')],
        [(', set = { X9 = "quay" }', "")],
        [('cole = "Q1", ', "")],
        [('slate = "idle"', 'coal = "idle"')],
    ],
    "vehicle-unseen/bad": [[('axle = "20 kohm"', 'axle = "10 kohm"')]],
    "vehicle-unseen/bad-2": [[('axle = "15 kohm"', 'axle = "10 kohm"')]],
    "vehicle-unseen/bad-3": [[('idle = "2 mA" }', 'idle = "2 mA", axle = "4.7 kohm" }')]],
    "vehicle-unseen/bad-4": [[('axle = "20 kohm"', 'axle = "10 kohm"')]],
    "supplies-unequal/bad": [[('"19 V"', '"15 V"')]],
    "supplies-unequal/bad-2": [[('"19 V"', '"15 V"')]],
    "trip-order/bad": [[('trip = "6 A", delay = "40 ms"', 'trip = "4 A", delay = "40 ms"')]],
    "trip-order/bad-2": [[('"120 ms"', '"40 ms"')]],
    "trip-order/bad-4": [[('turns_at = "4 A"', 'turns_at = "2 A"')]],
    "trip-order/bad-5": [[('turn_delay = "1 ms"', 'turn_delay = "0.2 ms"')]],
    "trip-order/bad-3": [[('fuse = "40 A"', 'fuse = "5 A"')]],
    "voltage-drop/bad": [[('bus = "thin"', 'bus = "plain"')]],
    "voltage-drop/bad-2": [[('["0 m", "8 m"]', '["0 m", "4 m", "8 m"]')]],
    "voltage-drop/bad-3": [[('drop = "1.4 V"', 'drop = "0.7 V"')]],
    "voltage-drop/bad-4": [[('length = "40 m"', 'length = "5 m"')]],
    "voltage-drop/bad-5": [[('["0 m", "8 m"]', '["0 m", "4 m", "8 m"]')]],
    "voltage-drop/bad-6": [[('bus = "thin"', 'bus = "plain"')]],
    "wire-over-current/bad": [[('bus = "0.14 mm2"', 'bus = "plain"')]],
    "wire-over-current/bad-2": [[('bus = "0.14 mm2"', 'bus = "plain"')]],
    "wire-over-current/bad-3": [[('feeder = "braid"', 'feeder = "plain"')]],
    "wire-over-current/bad-4": [[('bus = "0.14 mm2"', 'bus = "plain"')]],
    "wire-over-current/bad-5": [[('wire = "0.14 mm2"', 'wire = "plain"')]],
    "wire-over-current/bad-6": [[('common = "brown"', 'common = "plain"')]],
    "wire-over-current/bad-7": [[('common = "brown"', 'common = "plain"')]],
    "wire-over-current/bad-8": [[('common = "brown"', 'common = "plain"')]],
    "wire-over-current/bad-9": [[('bus = "24 AWG"', 'bus = "plain"')]],
}
"""Case -> what is typed for each of its findings. Of the examples, which say so themselves, there is none here."""

OTHERWISE: dict[str, list[Typed]] = {
    "booster-over-current/bad": [[('idle = "90 mA"', 'idle = "60 mA"')]],
    "booster-over-current/bad-2": [
        [('coal = "running", ', "")],
        [
            ('districts.west = { booster = "B1"', 'districts.west = { booster = "B2"'),
            ("districts.east", 'boosters.B2 = { voltage = "14 V", current = "1 A" }\ndistricts.east'),
        ],
    ],
    "district-near-limit/bad-7": [[("count = 4", "count = 2")]],
    "district-over-current/bad-2": [[('idle = "90 mA"', 'idle = "60 mA"')]],
    "district-over-current/bad-3": [[('slate = "running" } }', 'slate = "idle" } }')]],
    "false-clear/bad": [[("[isolators.I1]", f"[isolators.I1]\n{HOLDS}"), ("idle =", 'axle = "2.2 kohm", idle =')]],
    "false-clear/bad-2": [[('detection = "held"', HOLDS), ("idle =", 'axle = "2.2 kohm", idle =')]],
    "false-clear/bad-3": [[('threshold = "0.5 mA"', 'threshold = "0.3 mA"')]],
    "false-clear/bad-4": [[('length = "20 cm" }', 'length = "20 cm", asleep = "2 mA" }')]],
}
"""Case -> what else its first finding's mend offers, each in its turn."""
