"""How hard the property tests look: ``HYPOTHESIS_PROFILE=fuzz`` looks long, else the same short way each time."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

SLOW = (HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example)

settings.register_profile(
    "default", max_examples=60, derandomize=True, deadline=None, database=None, suppress_health_check=SLOW
)
settings.register_profile("fuzz", max_examples=3000, deadline=None, print_blob=True, suppress_health_check=SLOW)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "default"))
