"""A handover as one HTML page: no script, nothing from outside, made to be printed as well."""

from html import escape
from typing import Final

from plotter.handover.values import Handover, Table

__all__ = ["page_of"]

_STYLE: Final = """
body { font: 16px/1.4 system-ui, sans-serif; color: #1a1a1a; background: #fffdf5; margin: 1.5rem; }
h1 { font-size: 1.5rem; margin: 0 0 .3rem; } h2 { font-size: 1.1rem; margin: 1.4rem 0 .4rem; }
p { margin: .2rem 0; max-width: 60rem; } .caution { font-weight: 600; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; font-size: .9rem; }
th, td { text-align: left; vertical-align: top; padding: .25rem .4rem;
  border-bottom: 1px solid #b9b4a5; overflow-wrap: anywhere; font-variant-numeric: tabular-nums; }
th { background: #efeadb; border-bottom: 2px solid #1a1a1a; }
nav a { margin-right: 1rem; color: #1a1a1a; }
.wide { overflow-x: auto; } .wide table { min-width: 60rem; }
@media print { body { margin: 0; font-size: 10px; background: none; } nav { display: none; }
  .wide { overflow: visible; } .wide table { min-width: 0; } thead { display: table-header-group; }
  tr { break-inside: avoid; } @page { size: A4 landscape; margin: 12mm; } }
"""
_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def page_of(handover: Handover) -> str:
    """Write a handover as HTML.

    Parameters
    ----------
    handover : Handover
        From `plotter.handover.handover_of`.
    """
    title = escape(f"{handover.title}: handover")
    links = "".join(
        f'<a href="#t{k}">{escape(table.title)} ({len(table.rows)})</a>'
        for k, table in enumerate(handover.tables)
    )
    tables = "".join(_table(k, table) for k, table in enumerate(handover.tables))
    words = "".join(f"<p>{escape(line)}</p>" for line in handover.words)
    cautions = "".join(f'<p class="caution">{escape(line)}</p>' for line in handover.cautions)
    made = f"{handover.made_utc:%Y-%m-%d %H:%M} UTC"
    return (
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}</title><style>{_STYLE}</style></head><body>"
        f"<h1>{title}</h1><p>Made {made}.</p>{cautions}{words}<nav>{links}</nav>{tables}"
        "</body></html>\n"
    )


def _table(number: int, table: Table) -> str:
    head = f'<h2 id="t{number}">{escape(table.title)}</h2>'
    if not table.rows:
        return f"{head}<p>{escape(table.empty)}</p>"
    columns = "".join(f'<col style="width:{100 * share:.1f}%">' for share in table.shares)
    heads = "".join(f"<th>{escape(words)}</th>" for words in table.columns)
    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(words)}</td>" for words in row) + "</tr>"
        for row in table.rows
    )
    return (
        f'{head}<div class="wide"><table><colgroup>{columns}</colgroup>'
        f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>"
    )
