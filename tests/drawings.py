"""What the tests of drawings share."""

from __future__ import annotations

from blockcheck.answers.draw import Drawing


def labels_that_overlap(drawing: Drawing) -> list[tuple[str, str]]:
    """The pairs of labels whose areas overlap, by the cautious measure of the text."""
    found = []
    open_: list[tuple[float, float, float, float, str]] = []
    for top, left, right, bottom, text in sorted(
        (label.extent[1], label.extent[0], label.extent[2], label.extent[3], label.text) for label in drawing.labels
    ):
        open_ = [one for one in open_ if one[3] > top + 0.01]
        found += [(one[4], text) for one in open_ if one[0] < right - 0.01 and left < one[2] - 0.01]
        open_.append((left, top, right, bottom, text))
    return found
