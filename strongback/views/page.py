"""A page to print or to read on a telephone: self-contained, without a link or a script."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

__all__ = ["page"]

STYLE = """
@page { size: A4; margin: 14mm }
* { box-sizing: border-box }
body { font: 10.5pt/1.4 "DejaVu Sans", Verdana, sans-serif; color: #22262b; max-width: 182mm; margin: 8mm auto }
h1 { font-size: 15pt; margin: 0 0 2mm }
h2 { font-size: 11.5pt; margin: 6mm 0 1.5mm; border-bottom: 0.4mm solid #33709e }
table { border-collapse: collapse; width: 100% }
th, td { text-align: left; padding: 1mm 2mm; border-bottom: 0.2mm solid #c9cfd4; vertical-align: top }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap }
td.w { width: 24mm; border: 0.2mm solid #9aa5ad }
h2, h3 { break-after: avoid }
thead { display: table-header-group }
tr, tbody.whole { break-inside: avoid }
div.wide { overflow-x: auto }
table.small { font-size: 9pt }
table.small td, table.small th { padding: 0.8mm 1.2mm }
tbody.whole tr:first-child td { border-bottom: none; padding-top: 1.6mm }
div.boxes { display: grid; grid-template-columns: repeat(3, 1fr); gap: 1.5mm; padding-bottom: 0.8mm }
div.boxes span { border: 0.2mm solid #9aa5ad; height: 8.5mm; padding: 0.3mm 1mm; font-size: 7.5pt; color: #5c6770 }
img { width: 100% }
img.narrow { display: none }
@media screen { body { padding: 0 4mm } }
@media screen and (max-width: 640px) {
  body { font-size: 15px; margin: 3mm auto; padding: 0 3mm }
  img.wide { display: none }
  img.narrow { display: block }
  td.w { width: 14mm }
  table.cards { font-size: 14px }
  table.cards thead { display: none }
  table.cards tbody { display: block; border-bottom: 0.3mm solid #9aa5ad; padding: 1.5mm 0 }
  table.cards tr, table.cards td, table.cards td.n {
    display: block; text-align: left; border: none; padding: 0; white-space: normal
  }
  table.cards td[data-name]::before { content: attr(data-name) ": "; color: #5c6770 }
  div.boxes { grid-template-columns: 1fr }
  div.boxes span { font-size: 11px }
}
@media print { body { margin: 0 auto } div.wide { overflow: visible } }
section.step { break-inside: avoid; margin: 0 0 3mm }
section.step h3 { font-size: 10.5pt; margin: 2mm 0 0 }
ul { margin: 0.5mm 0; padding-left: 6mm; list-style: square }
ul.do { list-style: none; padding-left: 1mm }
ul.do li::before { content: "\\2610\\00a0" }
p.caution { margin: 0.6mm 0; padding: 0.8mm 2mm; border-left: 1.2mm solid #dd6b4a; background: #f7f1ee; font-size: 9pt }
pre { font: inherit; white-space: pre-wrap; margin: 0 }
footer { margin-top: 5mm; font-size: 8.5pt; border-top: 0.2mm solid #c9cfd4 }
"""


def page(title: str, parts: Sequence[str], *, pictures: bool = False) -> str:
    """A whole HTML page.

    Parameters
    ----------
    title : str
        Escaped here.
    parts : sequence of str
        HTML, with every word of the user escaped.
    pictures : bool
        Whether pictures stand in it, as data.

    Returns
    -------
    str
    """
    policy = "default-src 'none'; style-src 'unsafe-inline'" + ("; img-src data:" if pictures else "")
    body = "\n".join(parts)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )
