"""Debian's chromium, driven by playwright: what the pages and drawings do in a browser.

``conftest.py`` beside this starts it once for all tests here, as the fixture ``browser``.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

A4, LETTER = (595.3, 841.9), (612.0, 792.0)
"""Paper in points: ISO 216 (210 mm by 297 mm), ANSI/ASME Y14.1 A (8.5 in by 11 in)."""

BOXES = """
() => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode;
    if (!node.textContent.trim()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects())
      if (box.width > 0.5 && box.height > 0.5)
        found.push({text: node.textContent.trim().slice(0, 40), left: box.left, right: box.right,
                    top: box.top + window.scrollY, bottom: box.bottom + window.scrollY});
  }
  return found;
}
"""
"""The box of every line of every text."""

COLOURS = """
() => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode, parent = node.parentElement;
    if (!node.textContent.trim() || !parent.getClientRects().length) continue;
    const style = getComputedStyle(parent);
    const drawn = parent.namespaceURI.endsWith('svg');
    const inked = drawn ? style.fill : style.color;
    let ground = 'rgb(255, 255, 255)';
    for (let one = parent; one; one = one.parentElement) {
      const seen = getComputedStyle(one).backgroundColor;
      if (seen !== 'rgba(0, 0, 0, 0)' && seen !== 'transparent') { ground = seen; break; }
    }
    found.push({text: node.textContent.trim().slice(0, 40), ink: inked, ground: ground,
                size: parseFloat(style.fontSize), drawn: drawn});
  }
  return found;
}
"""
"""The colour of every text, what it stands on, and its size in CSS pixels."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser without a window. Where there is none its tests are skipped, but never where ``CI`` is set."""
    path = shutil.which("chromium")
    if path is None:
        message = "chromium is not installed: no page or drawing was looked at (apt-get install chromium)"
        if os.environ.get("CI"):
            pytest.fail(message, pytrace=False)
        pytest.skip(message)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def opened(browser: Browser, file: Path, width: int = 1280, height: int = 900) -> Iterator[Page]:
    """A page from a file, in a window; at the end, it must have asked for nothing else and complained of nothing."""
    page = browser.new_page(viewport={"width": width, "height": height})
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto(file.as_uri(), wait_until="load")
    try:
        yield page
        assert asked == [file.as_uri()], "it asked for something else"
        assert said == [], "it complained"
    finally:
        page.close()


def overlaps(boxes: list[dict[str, Any]], slack: float = 1.0) -> list[tuple[str, str]]:
    """The pairs of texts of which one stands on the other by more than ``slack`` CSS pixels both ways."""
    found = []
    open_: list[dict[str, Any]] = []
    for box in sorted(boxes, key=lambda one: float(one["top"])):
        open_ = [one for one in open_ if one["bottom"] - slack > box["top"]]
        for one in open_:
            wide = min(one["right"], box["right"]) - max(one["left"], box["left"])
            high = min(one["bottom"], box["bottom"]) - max(one["top"], box["top"])
            if wide > slack and high > slack:
                found.append((str(one["text"]), str(box["text"])))
        open_.append(box)
    return found
