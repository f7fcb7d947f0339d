"""What the checks from outside share."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser

from tests.outside.browser import chromium


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all tests of a run."""
    with chromium() as found:
        yield found
