"""A browser test is never skipped silently where it must run."""

import pytest
from browser_support import chromium_path


def test_without_a_browser_it_is_skipped_with_a_plain_reason(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="install it to run the browser tests"):
        chromium_path()


def test_in_ci_it_fails_instead(monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setenv("CI", "1")
    with pytest.raises(pytest.fail.Exception, match="CI is set"):
        chromium_path()
