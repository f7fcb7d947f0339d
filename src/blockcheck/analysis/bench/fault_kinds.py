"""The kinds of single wiring faults, and how likely each is: plain weights, common practice, no source."""

CHANNELS_SWAPPED, ISOLATORS_SWAPPED = "channels-swapped", "isolators-swapped"
DROP_MISSING, DROP_RAIL, DROP_BUS = "drop-missing", "drop-on-wrong-rail", "drop-on-neighbours-bus"
JOINT_OPEN, JOINT_POOR = "bus-joint-open", "bus-joint-poor"
GAP_BRIDGED, RAIL_CUT = "gap-bridged", "rail-cut"
STUCK, CHANNEL_DEAD, WRONG_DISTRICT = "isolator-stuck", "channel-dead", "bank-on-wrong-district"
HOLD_MISSING, HOLD_WRONG, FROG_REVERSED = "hold-missing", "hold-wrong", "frog-reversed"

KINDS = {
    DROP_MISSING: 8.0,
    JOINT_POOR: 6.0,
    JOINT_OPEN: 4.0,
    FROG_REVERSED: 4.0,
    GAP_BRIDGED: 3.0,
    CHANNELS_SWAPPED: 3.0,
    ISOLATORS_SWAPPED: 3.0,
    DROP_RAIL: 3.0,
    DROP_BUS: 2.0,
    HOLD_WRONG: 2.0,
    HOLD_MISSING: 2.0,
    RAIL_CUT: 1.0,
    STUCK: 1.0,
    CHANNEL_DEAD: 1.0,
    WRONG_DISTRICT: 1.0,
}
"""Kinds of fault -> how likely one such is, against the others."""
