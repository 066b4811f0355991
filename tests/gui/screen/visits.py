"""Visits: their readings beside what they should be, and the causes."""

from __future__ import annotations

from collections.abc import Iterator

from tests.gui.screen.claims import Claim, Eye, all_in
from workbench.files.diagnosis_text import basis_words, cause_lines, finding_words, item_words, next_words
from workbench.gui.window import VISITS
from workbench.solving.later.items import DIMENSIONS
from workbench.solving.later.ranking import diagnose
from workbench.units import to_display, unit_of


def visits(eye: Eye) -> Iterator[Claim]:
    """Each reading of every visit beside what it should be, and the causes that fit."""
    page, design = eye.page(VISITS), eye.design
    for at in range(len(design.visits)):
        page.visits.pick(("visits", at))
        page.settle()
        eye.hand.qtbot.waitUntil(lambda: not page.later.background.busy(), timeout=60_000)
        eye.hand.settle()
        flow = design.visits[at].flow
        if flow is not None and flow.method != "orifice":
            bore = design.intake.runs[-1].pipe.inside_diameter
            wall = to_display(0.135 * bore, "small_length", eye.system)
            own = f"{wall:.1f}" if unit_of("small_length", eye.system).label == "mm" else f"{wall:.2f}"
            straight = eye.write(7.5 * bore, "small_length")
            how = page.visits.form.how.text()
            yield Claim(f"visits: how the flow of visit {at} is read", *all_in(how, [own, straight]))
        found = diagnose(eye.prepared, design, design.visits[at])
        yield Claim(f"visits: what visit {at} is expected from", page.compared.basis.text(), basis_words(found))
        for row, each in zip(page.compared.rows, found.readings, strict=True):
            dimension = DIMENSIONS[each.item.kind]
            what = f"visits: {item_words(each.item)} of visit {at}"
            yield Claim(f"{what}, read", row.read.text(), eye.write(each.read, dimension))
            own = f"Expected {eye.write(each.expected, dimension)}, 90 % band {eye.span(each.band, dimension)}"
            yield Claim(f"{what}, expected", row.expected.text(), f"{own.rstrip('.')}.")
            inside = each.band[0] <= each.read <= each.band[1]
            way = "above" if each.read > each.band[1] else "below"
            beyond = max(each.read - each.band[1], each.band[0] - each.read)
            words = "● inside" if inside else f"▲ {'high' if way == 'above' else 'low'} by {abs(each.off):.1f} "
            words += "" if inside else f"standard errors, {eye.write(beyond, dimension)} {way} the band"
            yield Claim(f"{what}, verdict", row.standing.text(), words)
        causes = [label.text().lower().rstrip(".") for label in page.causes.causes]
        several = len(causes) > 1
        own_causes = [f"{i}.  " * several + line.lower() for i, line in enumerate(cause_lines(found), start=1)]
        yield Claim(f"visits: causes of visit {at}", "\n".join(causes), "\n".join(own_causes))
        yield Claim(f"visits: finding of visit {at}", page.causes.finding.text()[2:], finding_words(found))
        yield Claim(f"visits: next reading of visit {at}", page.causes.next.text(), next_words(found))
        row = page.visits.rows.rows[page.visits.rows.at()]
        gauge = design.visits[at].gauge
        if gauge is not None:
            own = f"gauge {eye.write(gauge.pressure, 'pressure')}"
            yield Claim(f"visits: row of visit {at}", *all_in(row.accessibleName(), [own]))
