"""Nothing leaves the file: reads a finished page and refuses whatever would ask the network."""

import base64
import hashlib
import re
from html.parser import HTMLParser
from typing import Final

from plotter.errors import NetworkReference

__all__ = ["policy_for", "refuse_network"]

# Every attribute that makes a browser fetch, open or send something (HTML Living Standard).
_REFERENCES: Final = frozenset(
    {
        "action", "archive", "background", "cite", "classid", "code", "codebase", "data",
        "formaction", "href", "icon", "imagesrcset", "longdesc", "manifest", "ping", "poster",
        "profile", "src", "srcdoc", "srcset", "usemap", "xlink:href",
    }
)  # fmt: skip
_REFUSED_TAGS: Final = frozenset(
    {"applet", "base", "embed", "frame", "iframe", "link", "object", "portal"}
)
_CSS_URL: Final = re.compile(r"url\(\s*(['\"]?)(.*?)\1\s*\)", re.IGNORECASE | re.DOTALL)
_CSS_OTHER: Final = re.compile(r"@import|image-set\s*\(|\bsrc\s*\(|\\", re.IGNORECASE)
_DATA_TYPE: Final = "application/json"


class _Reader(HTMLParser):
    """Collects inline scripts and styles, and refuses references on the way."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.scripts: list[str] = []
        self.styles: list[str] = []
        self.policies: list[str] = []
        self._into: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name.lower(): value or "" for name, value in attrs}
        if tag in _REFUSED_TAGS:
            raise NetworkReference(f"the page has a <{tag}> element; a board may have none")
        for name, value in given.items():
            if name in _REFERENCES and not _stays_inside(value):
                raise NetworkReference(
                    f"<{tag} {name}={value[:80]!r}> would leave the file; use a data: URI"
                )
            if name.startswith("on"):
                raise NetworkReference(f"<{tag} {name}=...>: scripts in attributes are not allowed")
            if name == "style":
                _check_css(value)
        if tag == "meta":
            self._meta(given)
        if tag in {"script", "style"}:
            target = self.scripts if tag == "script" else self.styles
            if given.get("type") == _DATA_TYPE:
                return
            target.append("")
            self._into = target

    def _meta(self, given: dict[str, str]) -> None:
        kind = given.get("http-equiv", "").lower()
        if kind == "refresh":
            raise NetworkReference("the page has <meta http-equiv=refresh>; a board stays put")
        if kind == "content-security-policy":
            self.policies.append(given.get("content", ""))

    def handle_endtag(self, tag: str) -> None:
        if tag in {"script", "style"}:
            self._into = None

    def handle_data(self, data: str) -> None:
        if self._into is not None:
            self._into[-1] += data


def _stays_inside(value: str) -> bool:
    bare = value.strip().lower()
    return bare == "" or bare.startswith(("data:", "#"))


def _check_css(css: str) -> None:
    for match in _CSS_URL.finditer(css):
        if not _stays_inside(match[2]):
            raise NetworkReference(f"the style {match[0][:80]!r} would leave the file")
    # A backslash can spell url( in a way that the pattern above does not see.
    other = _CSS_OTHER.search(_CSS_URL.sub("", css))
    if other is not None:
        raise NetworkReference(f"{other[0]!r} in a style could leave the file")


def _read(html: str) -> _Reader:
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader


def _source(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def policy_for(html: str) -> str:
    """Return the content security policy that allows a page's own scripts and styles only.

    Parameters
    ----------
    html : str
        The page; its inline scripts and styles are allowed by their hashes.

    Returns
    -------
    str
        The value of a Content-Security-Policy.

    Source
    ------
    W3C, Content Security Policy Level 3, working draft 2024: hash sources, `default-src`.
    """
    page = _read(html)
    scripts = " ".join(dict.fromkeys(_source(text) for text in page.scripts)) or "'none'"
    styles = " ".join(dict.fromkeys(_source(text) for text in page.styles)) or "'none'"
    return (
        f"default-src 'none'; script-src {scripts}; style-src {styles}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def refuse_network(html: str) -> None:
    """Refuse a page that could ask the network.

    Parameters
    ----------
    html : str
        The finished page.

    Raises
    ------
    NetworkReference
        If an element, attribute or style points outside the file, or if the page lacks a content
        security policy that starts from nothing and allows exactly its own scripts and styles.
    """
    page = _read(html)
    for css in page.styles:
        _check_css(css)
    if page.policies != [policy_for(html)]:
        raise NetworkReference(
            "the page does not carry exactly the content security policy that its own scripts and "
            "styles need; build it with build_board"
        )
