"""A paper as one HTML file: nothing is loaded from elsewhere, nothing in it runs."""

from __future__ import annotations

import base64
from html import escape as _escaped

from workbench.papers.blocks import (
    Big,
    Blanks,
    Block,
    Break,
    Bullets,
    Cell,
    Checks,
    Columns,
    Facts,
    Figure,
    Heading,
    Paper,
    Span,
    Table,
    Text,
    Tiles,
    Verdict,
)
from workbench.papers.letters import FAMILY, isolated

INVENTED = "House, readings, fans and prices are not real."
_STYLE = f"""
:root {{ color-scheme: light; }}
body {{ font: 15px/1.4 '{FAMILY}', 'Noto Sans', 'Segoe UI', Arial, sans-serif; color: #1B2426; background: #fff;
  max-width: 52rem; margin: 1.5rem auto; padding: 0 1rem; font-variant-numeric: tabular-nums; }}
header {{ display: flex; justify-content: space-between; gap: 1rem; border-bottom: 2px solid; padding-bottom: .4rem; }}
header img {{ max-height: 3rem; display: block; margin-left: auto; }}
.by {{ text-align: right; font-size: .8rem; }} h1 {{ margin: 0; font-size: 1.8rem; }}
h2 {{ margin: 1.1rem 0 .3rem; font-size: 1.15rem; break-after: avoid; }} p {{ margin: .4rem 0; }}
.lead {{ font-size: 1.15rem; }} .note, small, th {{ font-size: .8rem; font-weight: 400; color: #525E60; }}
.bar {{ border-left: 4px solid; padding-left: .7rem; }}
.verdict {{ display: flex; gap: .8rem; align-items: center; border: 2px solid; padding: .6rem; margin: .8rem 0; }}
.verdict b {{ font-size: 1.15rem; }} .verdict svg {{ margin-left: auto; flex: none; }}
.big b {{ font-size: 4.4rem; line-height: 1; }} .big i {{ font: 700 1.6rem inherit; font-style: normal; }}
.tiles {{ display: flex; flex-wrap: wrap; border: solid #BFC5C4; border-width: 1px 0; padding: .4rem 0;
  margin: .8rem 0; }}
.tiles div {{ flex: 1 1 8rem; padding: 0 .6rem; border-left: 1px solid #BFC5C4; }}
.tiles b {{ display: block; font-size: 1.2rem; }}
.columns {{ display: flex; flex-wrap: wrap; gap: 1.6rem; }} .columns > div {{ flex: 1 1 18rem; min-width: 0; }}
.framed {{ border: 2px solid; padding: .6rem; }} svg {{ max-width: 100%; height: auto; }}
table {{ border-collapse: collapse; width: 100%; margin: .3rem 0; }}
th {{ border-bottom: 1.5px solid #1B2426; text-align: left; vertical-align: bottom; }}
td, th {{ padding: .2rem .4rem; }} td {{ border-bottom: 1px solid #BFC5C4; }}
.right {{ text-align: right; white-space: nowrap; }}
td.box {{ border: 1px solid #1B2426; min-width: 4rem; height: 1.6rem; }} tr.marked {{ background: #DCEAF3; }}
tr.total td {{ border-top: 1.5px solid #1B2426; }} small {{ display: block; }}
ul.checks {{ list-style: none; padding: 0; columns: 16rem; }} ul.checks li {{ break-inside: avoid; }}
ul.checks li::before {{ content: "☐ "; }}
ul.dashes {{ list-style: "– "; padding-left: 1.2rem; }}
.blanks {{ display: flex; gap: 1rem; margin: .6rem 0; }} .blanks span {{ display: flex; gap: .4rem; }}
.blanks span::after {{ content: ""; flex: 1; border-bottom: 1px solid; }} .blanks span {{ flex: 1; }}
footer {{ border-top: 1px solid; margin-top: 1.2rem; padding-top: .3rem; font-size: .8rem; }}
@media print {{ body {{ margin: 0; }} .break {{ break-before: page; }} tr, svg, .verdict {{ break-inside: avoid; }} }}
"""


def escape(text: str) -> str:
    """A text as it may stand in a page."""
    return _escaped(isolated(text))


def html(paper: Paper) -> str:
    """The paper as a page of its own; every text in it is escaped."""
    maker = paper.maker
    logo = ""
    if maker.logo:
        kind = "svg+xml" if maker.logo_kind == "svg" else "png"
        data = base64.b64encode(maker.logo).decode("ascii")
        logo = f'<img alt="Logo" src="data:image/{kind};base64,{data}">'
    name = escape(maker.name) or "Name: not entered"
    license_ = f"License {escape(maker.license)}" if maker.license else "License number: not entered"
    marked = f"<b>Invented demonstration.</b> {INVENTED} " if paper.invented else ""
    title = f"{paper.title} – {paper.subtitle}"
    return (
        '<!DOCTYPE html>\n<html lang="en-US"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; "
        'img-src data:">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>\n"
        f"<header><div><h1>{escape(paper.title)}</h1>{escape(paper.subtitle)}</div>"
        f'<div class="by">{logo}{name}<br>{license_}<br>{escape(paper.date)}</div></header>\n'
        f"<main>{''.join(_block(block) for block in paper.blocks)}</main>\n"
        f"<footer>{marked}{escape(paper.footer)}</footer>\n</body></html>\n"
    )


def _block(block: Block) -> str:
    match block:
        case Heading(text):
            return f"<h2>{escape(text)}</h2>\n"
        case Text(spans, role):
            return f'<p class="{role}">{_spans(spans)}</p>\n'
        case Figure():
            return _figure(block)
        case Verdict(mark, title, text, figure):
            drawn = "" if figure is None else _figure(figure)
            said = f"<div><b>{escape(title)}</b><br>{escape(text)}</div>"
            return f'<div class="verdict"><span>{escape(mark)}</span>{said}{drawn}</div>\n'
        case Big(before, number, unit):
            return f'<p class="big">{escape(before)}<br><b>{escape(number)}</b> <i>{escape(unit)}</i></p>\n'
        case Tiles(tiles):
            cells = "".join(
                f"<div>{escape(t.label)}<b>{escape(t.value)}</b>{escape(t.note)}<small>{escape(t.fine)}</small></div>"
                for t in tiles
            )
            return f'<div class="tiles">{cells}</div>\n'
        case Facts(facts):
            cells = "".join(f"<div>{escape(name)}<b>{escape(value)}</b></div>" for name, value in facts)
            return f'<div class="tiles">{cells}</div>\n'
        case Table():
            return _table(block)
        case Checks(items) | Bullets(items):
            kind = "checks" if isinstance(block, Checks) else "dashes"
            return f'<ul class="{kind}">{"".join(f"<li>{escape(item)}</li>" for item in items)}</ul>\n'
        case Blanks(blanks):
            return f'<p class="blanks">{"".join(f"<span>{escape(blank.label)}</span>" for blank in blanks)}</p>\n'
        case Columns(left, right, _, framed):
            sides = "".join(f"<div>{''.join(map(_block, side))}</div>" for side in (left, right))
            return f'<div class="columns{" framed" if framed else ""}">{sides}</div>\n'
        case Break():
            return '<div class="break"></div>\n'
        case _:
            raise TypeError(type(block).__name__)


def _spans(spans: tuple[Span, ...]) -> str:
    return "".join(f"<b>{escape(span.text)}</b>" if span.bold else escape(span.text) for span in spans)


def _figure(figure: Figure) -> str:
    drawn = figure.svg.replace("<svg ", f'<svg role="img" aria-label="{escape(figure.alt)}" ', 1)
    return drawn + "\n"


def _table(table: Table) -> str:
    heads = "".join(
        f'<th scope="col" class="{column.align}">{escape(column.title)}'
        f"{'<br>' if column.unit and column.title else ''}{escape(column.unit)}</th>"
        for column in table.columns
    )
    rows = []
    for i, row in enumerate(table.rows):
        kind = "marked" if i == table.marked else "total" if table.total and i == len(table.rows) - 1 else ""
        cells = "".join(_cell(cell, column.align) for cell, column in zip(row, table.columns, strict=True))
        rows.append(f'<tr class="{kind}">{cells}</tr>')
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>\n"


def _cell(cell: Cell, align: str) -> str:
    if cell.box:
        return '<td class="box"></td>'
    text = f"<b>{escape(cell.text)}</b>" if cell.bold else escape(cell.text)
    small = f"<small>{escape(cell.small)}</small>" if cell.small else ""
    return f'<td class="{align}">{text}{small}</td>'
