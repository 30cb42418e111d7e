import pytest

from plotter.board.guard import policy_for, refuse_network
from plotter.errors import BoardError, NetworkReference

PAGE = (
    '<!DOCTYPE html><html><head><meta http-equiv="Content-Security-Policy" content="POLICY">'
    "<style>b { color: red }</style></head><body>BODY<script>var a = 'https://text';</script>"
    "</body></html>"
)


def page(body="", style=""):
    html = PAGE.replace("BODY", body).replace("</style>", style + "</style>")
    return html.replace("POLICY", policy_for(html).replace('"', "&quot;"))


def test_a_page_of_its_own_passes():
    refuse_network(page('<img src="data:image/png;base64,AAAA"><a href="#x">x</a>'))


PLANTED = {
    "image": '<img src="https://example.org/a.png">',
    "image without scheme": '<img src="//example.org/a.png">',
    "image beside the file": '<img src="a.png">',
    "image with spaces": '<img src="  HTTPS://example.org/a.png">',
    "set of images": '<img srcset="https://example.org/a.png 2x">',
    "script": '<script src="https://example.org/a.js"></script>',
    "style sheet": '<link rel="stylesheet" href="https://example.org/a.css">',
    "prefetch": '<link rel="dns-prefetch" href="//example.org">',
    "link": '<a href="https://example.org">x</a>',
    "ping": '<a href="#x" ping="https://example.org">x</a>',
    "base": '<base href="https://example.org/">',
    "frame": '<iframe srcdoc="x"></iframe>',
    "object": '<object data="https://example.org/a.swf"></object>',
    "form": '<form action="https://example.org"></form>',
    "button": '<button formaction="https://example.org">x</button>',
    "video": '<video poster="https://example.org/a.png"></video>',
    "svg image": '<svg><image xlink:href="https://example.org/a.svg"/></svg>',
    "refresh": '<meta http-equiv="refresh" content="0;url=https://example.org">',
    "style attribute": '<p style="background: url(https://example.org/a.png)">x</p>',
    "handler": '<p onclick="go()">x</p>',
    "javascript": '<a href="javascript:go()">x</a>',
}


@pytest.mark.parametrize("kind", PLANTED)
def test_a_planted_reference_is_refused(kind):
    with pytest.raises(NetworkReference):
        refuse_network(page(PLANTED[kind]))


@pytest.mark.parametrize(
    "style",
    [
        "p { background: url(https://example.org/a.png) }",
        "p { background: URL( 'a.png' ) }",
        "@import 'https://example.org/a.css';",
        "@font-face { src: url(//example.org/a.woff) }",
        "p { background: u\\72l(https://example.org/a.png) }",
        "p { background: image-set('https://example.org/a.png' 1x) }",
    ],
)
def test_a_planted_style_is_refused(style):
    with pytest.raises(NetworkReference):
        refuse_network(page(style=style))


def test_a_page_without_its_policy_is_refused():
    with pytest.raises(BoardError, match="content security policy"):
        refuse_network(PAGE.replace("POLICY", ""))
    with pytest.raises(BoardError, match="content security policy"):
        refuse_network(page().replace("default-src 'none'", "default-src *"))


def test_a_script_changed_after_the_policy_is_refused():
    with pytest.raises(BoardError, match="content security policy"):
        refuse_network(page().replace("var a", "var b"))


def test_text_that_looks_like_a_reference_is_only_text():
    refuse_network(page("<p>&lt;img src=https://example.org&gt; url(https://example.org)</p>"))
