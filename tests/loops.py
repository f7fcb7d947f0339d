"""Coroutines in tests that are no coroutines."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

T = TypeVar("T")


def finished(coroutine: Coroutine[Any, Any, T]) -> T:
    """What it comes to, in a thread of its own: the browser of other tests leaves a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()
