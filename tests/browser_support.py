"""Chromium for tests: found on this machine, offline, every request written down."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

__all__ = ["Seen", "browser", "chromium_path", "open_page"]

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


class Seen:
    """What a page did: every request, and every complaint of its console."""

    def __init__(self):
        self.requests: list[str] = []
        self.complaints: list[str] = []


def chromium_path() -> str:
    """Where Chromium is; without it a browser test is skipped, except in CI, where it fails."""
    for name in NAMES:
        found = shutil.which(name)
        if found:
            return found
    reason = "no Chromium on this machine: install it to run the browser tests"
    if os.environ.get("CI"):
        pytest.fail(f"{reason} (CI is set, so this is not skipped)")
    pytest.skip(reason)


@contextmanager
def browser() -> Iterator[object]:
    """Start Chromium without GPU and network."""
    path = chromium_path()
    from playwright.sync_api import sync_playwright

    flags = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=path, args=flags)
        try:
            yield chromium
        finally:
            chromium.close()


@contextmanager
def open_page(chromium, path: Path, *, width: int = 1280, height: int = 800):
    """Open a file offline; yields the page and what it asked for."""
    context = chromium.new_context(viewport={"width": width, "height": height}, offline=True)
    seen = Seen()
    try:
        page = context.new_page()
        page.on("request", lambda request: seen.requests.append(request.url))
        page.on("console", lambda message: seen.complaints.append(message.text))
        page.on("pageerror", lambda error: seen.complaints.append(str(error)))
        page.goto(path.as_uri())
        yield page, seen
    finally:
        context.close()
