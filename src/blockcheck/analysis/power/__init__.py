"""Operating points: volts, worst places, shorts and what detectors read."""
