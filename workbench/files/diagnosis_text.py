"""A diagnosis as short lines for a terminal: readings beside what is expected, and what may have changed."""

from __future__ import annotations

from workbench.design.visit_edit import visit_name
from workbench.design.wording import sentence
from workbench.files.answer_text import Write, caution, table, wrapped, writer
from workbench.files.plain_text import plain_line
from workbench.solving.later.expected import Expected
from workbench.solving.later.items import DIMENSIONS, Item, ItemKind
from workbench.solving.later.ranking import Diagnosis, Ranked
from workbench.units import System, format_chance, format_number

NO_PROOF = (
    "This is a ranking by a model, not a proof. A licensed practitioner has to look at the system before anything is "
    "changed, and only a radon test shows the result in the house."
)

AS_READ = "The verdict of the design applies to the house as it was designed, not as it was read on this visit."
"""What is said wherever readings are off: the design may still meet its target."""

ITEM_NAMES = {
    "gauge": "System gauge",
    "second gauge": "Second gauge, same tap",
    "flow": "Airflow before the fan",
    "power": "Power",
    "riser": "Riser just above the slab",
    "hole": "Test hole",
    "past fan": "Pressure past the fan",
    "room": "Room below outdoors",
    "sound": "Sound",
}

_FINDINGS = {
    "unchanged": "Together the readings are within what is expected. Nothing that they can show has changed.",
    "one": "The readings together are off. One cause fits far better than the others:",
    "several": "The readings together are off. They cannot separate these causes, most likely first:",
    "none": "The readings together are off. None of the known causes fits, or two act at once; the nearest are:",
}

MOST_CAUSES = 6
_BENT = 2.0
"""Standard deviations beyond which a size is called unusual."""

_MEANING: dict[tuple[ItemKind, bool], str] = {
    ("gauge", False): "Weaker or slower fan, blocked outlet, or an opening before the gauge; or the gauge itself.",
    ("gauge", True): "More resistance before the gauge (water, silt, a valve, wet soil), or a faster fan.",
    ("second gauge", False): "The suction at the tap is lower: the system gauge is not the reason.",
    ("second gauge", True): "The suction at the tap is higher: the system gauge is not the reason.",
    ("flow", False): "Less air is moved: a weaker fan, or more resistance on its way.",
    ("flow", True): "More air is moved: an opening in pipe or slab, drier soil, or a faster fan.",
    ("power", False): "The fan does less work: slower, worn, or its outlet or inlet blocked.",
    ("power", True): "The fan does more work: an opening lets more air in, or its motor drags.",
    ("riser", False): "Less suction reaches this point: a weaker fan, or a leak or water on the way.",
    ("riser", True): "More suction at this point: its pit takes in less air, or another branch is closed.",
    ("hole", False): "Less suction under the slab here: an opening nearby, more leakage, or less suction at the pit.",
    ("hole", True): "More suction under the slab here: less leakage, or more suction at the pit.",
    ("past fan", False): "Less air passes, or the pipe is open past the fan; indoors soil gas then enters the house.",
    ("past fan", True): "The outlet or the pipe past the fan is obstructed.",
    ("room", False): "The house is drawn down less than expected.",
    ("room", True): "The house is drawn down more: exhausts, a burner or the wind work against the system.",
    ("sound", False): "Quieter: a slower fan, or less air.",
    ("sound", True): "Louder: a faster fan, a rush of air at an opening, or a worn bearing.",
}
"""What a reading below and above its band says by itself."""

_NOTHING = 0.05
"""Share of what is expected under which suction is none."""
_STOPPED = "No suction: the fan stands still, or its tube is off, blocked or frozen."


def diagnosis_lines(title: str, found: Diagnosis, system: System) -> list[str]:
    """What the readings of a visit come to, in the units of the reader, always with its caution."""
    write = writer(system)
    rows = [("Reading", "read", "expected", "90 % band", ""), *(_row(each, write) for each in found.readings)]
    visit = sentence(visit_name(found.visit))
    lines = [title, "", f"{visit} {basis_words(found)}", "", *table(rows, right=(1, 2)), ""]
    lines += wrapped(finding_words(found))
    for words in cause_lines(found):
        lines += wrapped(words, "  - ")
    if found.listed > MOST_CAUSES:
        lines.append(f"  {more_words(found)}")
    for words in (next_words(found), AS_READ if found.finding != "unchanged" else "", unseen_words(found)):
        if words:
            lines += ["", *wrapped(words)]
    lines += ["", *wrapped(NO_PROOF), *wrapped(caution())]
    return [plain_line(line) for line in lines]


def basis_words(found: Diagnosis) -> str:
    """What the readings are expected from."""
    if found.start_up is None:
        return "Expected by the design alone; no start-up was read before it."
    return f"Expected from the start-up of {found.start_up.date}."


def finding_words(found: Diagnosis) -> str:
    """What all readings together say."""
    return _FINDINGS[found.finding]


def cause_lines(found: Diagnosis) -> list[str]:
    """The causes that are named, best first, each with its likelihood."""
    lines = []
    for each in found.causes[: min(found.listed, MOST_CAUSES)]:
        # of causes that do not fit, none has earned a likelihood
        likely = "" if found.finding == "none" else f"{format_chance(each.likelihood)}: "
        lines.append(likely + _cause_words(each))
    return lines


def more_words(found: Diagnosis) -> str:
    """That there are more causes than are named."""
    return f"and {found.listed - MOST_CAUSES} more" if found.listed > MOST_CAUSES else ""


def next_words(found: Diagnosis) -> str:
    """The reading to take next, and what for; nothing where none would tell."""
    asked = found.causes[0].tell_apart if found.causes else None
    if asked is None:
        return ""
    words = item_words(asked)
    aim = "to separate the first two"
    if found.finding == "one":
        # the second stands in no list of one
        aim = f"to rule out the next likely ({_cause_words(found.causes[1])})"
    return f"Read next, {aim}: {words[:1].lower()}{words[1:]}."


def unseen_words(found: Diagnosis) -> str:
    """What these readings cannot hear."""
    if not found.unseen:
        return ""
    blind = ", ".join(dict.fromkeys(each.key for each in found.unseen))
    return f"At their usual size these would not show in the readings: {blind}."


def standing_words(each: Expected, write: Write) -> str:
    """Whether a reading lies within its band, and by how much it does not."""
    if not each.told:
        return "cannot be predicted"
    if each.inside:
        return "inside"
    way, side, edge = ("high", "above", each.band[1]) if each.off > 0.0 else ("low", "below", each.band[0])
    beyond = write(abs(each.read - edge), _BEYOND.get(DIMENSIONS[each.item.kind], DIMENSIONS[each.item.kind]))
    return f"{way} by {format_number(abs(each.off), 1)} standard errors, {beyond} {side} the band"


_BEYOND = {"level": "level_difference"}
"""What a difference of a quantity is written in, where that is something else."""


def meaning_words(each: Expected) -> str:
    """What a reading says by itself, in one sentence."""
    if not each.told:
        return "The model has no value for it in this state."
    if each.inside:
        return "As expected."
    if each.item.kind in ("gauge", "second gauge") and abs(each.read) < _NOTHING * each.expected:
        return _STOPPED
    return _MEANING[each.item.kind, each.off > 0.0]


def item_words(item: Item) -> str:
    """What is read, and where."""
    if not item.name:
        return ITEM_NAMES[item.kind]
    return f"{ITEM_NAMES[item.kind]}{' on' if 'gauge' in item.kind else ':'} {item.name}"


def _row(each: Expected, write: Write) -> tuple[str, str, str, str, str]:
    dimension = DIMENSIONS[each.item.kind]
    name, read = item_words(each.item), write(each.read, dimension)
    if not each.told:
        return name, read, "", "", standing_words(each, write)
    low, high = (write(edge, dimension) for edge in each.band)
    return name, read, write(each.expected, dimension), f"({low} to {high})", standing_words(each, write)


def _cause_words(each: Ranked) -> str:
    words = each.cause.wording.plain()
    if each.jumped and each.cause.kind.acts != "jumped":
        words += "; the fan has then jumped to another crossing of its curve"
    if each.bend > _BENT:
        words += "; only if of unusual size"
    return words
