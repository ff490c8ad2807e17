"""A worksheet as one HTML page to print: black on white, nothing fetched, text escaped. Pure."""

from collections.abc import Iterator, Sequence
from html import escape

from daq.lengths import EXACT, Length
from daq.metrology.gauge_check import CHECKS
from daq.pictures.crank_side import crank_side
from daq.pictures.journal_end import WHERE_ZERO_IS, journal_end
from daq.pictures.layout import layout_of
from daq.pictures.plan_picture import sorts_of
from daq.plan.drafting.units import band_text, other_band_text, other_text
from daq.plan.plan import JournalPlan, Plan
from daq.plan.worksheet import Box, SheetBlock, SheetStint, journals_in
from drivers.printable import shown

MARK = "<!DOCTYPE html>\n<!-- Made by jbridge plan worksheet -->"
MOST_ANGLES = 6
"""Columns that fit across the narrower of both papers; more angles go into further rows."""
MOST_ENDS = 6
"""Views from the end: one for each sort of journal."""

_STYLE = """
@page { margin: 12mm 12mm 14mm; @bottom-right { content: counter(page) " / " counter(pages); } }
* { box-sizing: border-box; }
body { font: 10pt/1.3 sans-serif; color: #000; background: #fff; max-width: 186mm;
  margin: 4mm auto; }
h3 { font-size: 11pt; margin: 4mm 0 0; break-after: avoid; }
h1 { font-size: 15pt; margin: 0 0 2mm; overflow-wrap: anywhere; }
h2 { font-size: 12pt; margin: 6mm 0 2mm; padding-top: 1.5mm; border-top: 0.6mm solid #000;
  break-after: avoid; overflow-wrap: anywhere; }
p { margin: 1mm 0; }
.small { font-size: 8.5pt; }
.lines { display: flex; flex-wrap: wrap; gap: 1mm 6mm; margin: 1mm 0 3mm; }
.lines span { flex: 1 1 52mm; border-bottom: 0.2mm solid #000; padding-bottom: 6mm;
  font-size: 8.5pt; }
.lines.four { margin: 1mm 0 2mm; } .lines.four span { flex-basis: 34mm; }
.check, .journal { break-inside: avoid; margin: 3mm 0 4mm; }
.check { border: 0.4mm solid #000; padding: 2mm 3mm; }
.journal .head { display: flex; flex-wrap: wrap; gap: 0 5mm; align-items: baseline;
  break-after: avoid; }
.journal .name { font-size: 14pt; font-weight: bold; overflow-wrap: anywhere; }
table { border-collapse: collapse; width: 100%; margin-top: 1mm; table-layout: fixed; }
th { font-weight: normal; font-size: 9pt; text-align: left; padding: 0.5mm 1mm;
  overflow-wrap: anywhere; }
td { border: 0.25mm solid #000; height: 9mm; padding: 0.3mm 1mm; vertical-align: top; }
td small { font-size: 6.5pt; }
td.none { border: 0; }
.turn { columns: 2; column-gap: 6mm; margin-top: 1mm; }
.turn div { display: flex; gap: 2mm; align-items: center; break-inside: avoid; height: 8mm; }
.turn small { flex: 0 0 8mm; text-align: right; font-size: 7.5pt; }
.turn b { flex: 1; overflow-wrap: anywhere; font-weight: normal; font-size: 9pt; }
.turn i { flex: 0 0 28mm; height: 7mm; border: 0.25mm solid #000; }
.drawn svg { display: block; max-width: 100%; height: auto; margin: 0 auto; }
.ends { display: flex; flex-wrap: wrap; gap: 0 4mm; }
.ends svg { width: 58mm; height: auto; }
.drawn, .ends svg { break-inside: avoid; }
code { white-space: nowrap; }
.strip { border: 0.8mm solid #000; padding: 2mm 3mm; margin: 6mm 0 0; font-weight: bold; }
@media print { body { margin: 0 auto; } }
"""

_STRIP = (
    '<p class="strip">Strip now. If a journal before this is below its low limit, stripping may be '
    "a waste.</p>"
)


def worksheet(plan: Plan, stints: Sequence[SheetStint]) -> str:
    """The page."""
    return "".join(f"{line}\n" for line in _page(plan, stints))


def _text(words: str) -> str:
    """Text of people's making: harmless, and of its own direction of writing."""
    return f"<bdi>{escape(shown(words, 300))}</bdi>"


def _page(plan: Plan, stints: Sequence[SheetStint]) -> Iterator[str]:
    yield MARK
    yield '<html lang="en"><head><meta charset="utf-8">'
    yield (
        '<meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    )
    yield f"<title>Worksheet: {escape(shown(plan.part, 300))}</title>"
    yield f"<style>{_STYLE}</style></head><body>"
    yield from _head(plan, stints)
    is_stripped = False
    for number, stint in enumerate(stints, 1):
        if stint.blocks[0].is_after_strip and not is_stripped:
            is_stripped = True
            yield _STRIP
        yield from _stint(plan, stint, number)
        is_stripped = is_stripped or stint.blocks[-1].is_after_strip
    yield "</body></html>"


def _head(plan: Plan, stints: Sequence[SheetStint]) -> Iterator[str]:
    total = sum(len(block.boxes) for stint in stints for block in stint.blocks)
    yield f"<h1>{_text(plan.part)}</h1>"
    operator = () if plan.study is not None else ("Operator",)
    yield _blanks(("Date", "Job", *operator, "Gauge, its number", "Part, its number"))
    yield _blanks(("Part °C, before", "Gauge °C, before", "Stack °C, before"))
    yield _blanks(("Part °C, after", "Gauge °C, after", "Stack °C, after"))
    minutes = f"{plan.check.max_age_us / 60_000_000:g}"
    yield (
        f"<p>{len(plan.journals)} journals, {total} readings, numbered in the order of measuring. "
        "Write every reading with all its digits and as it comes; strike through, never rub out. "
        "</p>"
    )
    yield '<p class="small">'
    yield (
        "Check the gauge on the stack first and last. If a check fails, or the gauge was set, "
        "dropped or without power between, what stands between both checks must be measured again. "
        f"A check is good for {minutes} minutes. Part, gauge and stack lie together until they "
        "have one temperature. Clean journal and faces; turn at the same feel each time. Paper "
        "proves nothing: type the readings in this order with "
        "<code>jbridge measure PLAN --port typed:</code></p>"
    )
    yield from _drawn(plan)


def _drawn(plan: Plan) -> Iterator[str]:
    """The crank, and its journals from the end with the angles to set."""
    layout = layout_of(plan.journals)
    yield f'<div class="drawn">{crank_side(layout)}</div>'
    sorts = list(sorts_of(layout))[:MOST_ENDS]
    ends = "".join(journal_end(journal, has_foot=False) for journal in sorts)
    yield f'<div class="ends">{ends}</div>'
    yield f'<p class="small">{WHERE_ZERO_IS}</p>'


def _blanks(words: Sequence[str]) -> str:
    kind = "lines four" if len(words) == 4 else "lines"
    return f'<div class="{kind}">{"".join(f"<span>{escape(word)}</span>" for word in words)}</div>'


# One stint ----------------------------------------------------------------------------------------


def _stint(plan: Plan, stint: SheetStint, number: int) -> Iterator[str]:
    yield f"<h2>{number}. {_stack(stint)}</h2>"
    yield from _check(plan, stint, "before")
    yield from _believable(journals_in(plan, stint))
    journals = {journal.name: journal for journal in journals_in(plan, stint)}
    if plan.study is not None:
        for journal in journals.values():
            yield f'<p class="small">{_text(journal.name)}: {_limits(journal)}</p>'
    is_open = not stint.blocks[0].is_after_strip
    for block in stint.blocks:
        if is_open and block.is_after_strip:
            is_open = False
            yield _STRIP
        if plan.study is not None:
            yield from _turn(block)
        else:
            yield from _journal(block, journals[block.boxes[0].position.journal])
    yield from _check(plan, stint, "after")


def _stack(stint: SheetStint) -> str:
    if not stint.stack:
        return "On a stack near the low limit: ____________"
    if stint.size is None or str(stint.size) != stint.stack:
        size = "" if stint.size is None else f", {stint.size} ({other_text(stint.size)})"
        return f"On the stack {_text(stint.stack)}{size}"
    return f"On the stack {stint.size} ({other_text(stint.size)})"


def _check(plan: Plan, stint: SheetStint, phase: str) -> Iterator[str]:
    """Boxes for the readings of a check, and its judgement."""
    yield '<div class="check">'
    yield f"<b>Check {phase}</b>, {plan.check.readings} readings on the stack"
    count = plan.check.readings
    columns = 10 if count > 10 else max(count, 5)
    for start in range(0, count, 10):
        numbers = range(start + 1, min(start + 10, count) + 1)
        cells = "".join(f"<td><small>{number}</small></td>" for number in numbers)
        blank = '<td class="none"></td>' * (columns - len(numbers))
        yield f"<table><tr>{cells}{blank}</tr></table>"
    words = ["Mean", "Mean less stack", "Largest less smallest"]
    if phase == "after":
        words.append("Mean less mean before")
    yield _blanks(words)
    yield f'<p class="small">{_allowed(plan, stint, phase)}</p></div>'


def _allowed(plan: Plan, stint: SheetStint, phase: str) -> str:
    check = plan.check
    spread = _check_limit(check.max_spread, CHECKS.spread_steps, plan, stint)
    if phase == "before":
        word, most = "less stack", _check_limit(check.max_error, CHECKS.mean_steps, plan, stint)
    else:
        word = "less mean before"
        most = _check_limit(check.max_drift, CHECKS.mean_steps, plan, stint)
    return f"Good if mean {word} is at most ± {most}, and largest less smallest at most {spread}."


def _check_limit(written: Length | None, steps: int, plan: Plan, stint: SheetStint) -> str:
    """A limit of the check as written, else as it is derived when the gauge is known."""
    if written is not None:
        return f"{written} ({other_text(written)})"
    tolerances = [journal.limits.tolerance_mm for journal in journals_in(plan, stint)]
    known = [tolerance for tolerance in tolerances if tolerance is not None]
    assert known, "a plan without any high limit is refused unless it states the limits of checks"
    tenth = Length(EXACT.divide(min(known), 10).normalize(EXACT), "mm")
    return f"{tenth} ({other_text(tenth)}) or {steps} steps of the gauge, if that is more"


# One journal --------------------------------------------------------------------------------------


def _journal(block: SheetBlock, journal: JournalPlan) -> Iterator[str]:
    yield '<div class="journal"><div class="head">'
    group = f"<span>{_text(journal.group)}</span>" if journal.group else ""
    yield f'<span class="name">{_text(journal.name)}</span>{group}<span>{_limits(journal)}</span>'
    yield "</div>"
    at = {(b.position.station, b.position.angle_deg, b.position.repeat): b for b in block.boxes}
    for start in range(0, len(journal.angles_deg), MOST_ANGLES):
        angles = journal.angles_deg[start : start + MOST_ANGLES]
        columns = min(len(journal.angles_deg), MOST_ANGLES)
        yield "<table><tr><th></th>"
        yield "".join(f"<th>{angle}°</th>" for angle in angles)
        yield "<th></th>" * (columns - len(angles)) + "</tr>"
        for station in journal.stations:
            for repeat in range(1, journal.repeats + 1):
                first = _text(station) if repeat == 1 else ""
                cells = "".join(_cell(at[station, angle, repeat]) for angle in angles)
                blank = '<td class="none"></td>' * (columns - len(angles))
                yield f"<tr><th>{first}</th>{cells}{blank}</tr>"
        yield "</table>"
    yield _blanks(("Smallest", "Largest", "Out-of-round", "Taper"))
    yield "</div>"


def _cell(box: Box) -> str:
    return f"<td><small>{box.number}</small></td>"


def _believable(journals: Sequence[JournalPlan]) -> Iterator[str]:
    """Between which sizes a reading is believed, once for all journals alike."""
    alike: dict[tuple[str, str], list[str]] = {}
    for journal in journals:
        alike.setdefault(_believed(journal), []).append(journal.name)
    for (low, high), names in alike.items():
        whose = "" if len(alike) == 1 else f"{_text(', '.join(names))}: "
        yield (
            f'<p class="small">{whose}A reading under {low} or over {high} is a slip: measure that '
            "place again.</p>"
        )


def _believed(journal: JournalPlan) -> tuple[str, str]:
    """The smallest and the largest such size, in the unit of the low limit."""
    limits, window = journal.limits, journal.window
    low = Length(EXACT.subtract(limits.low.mm, window.mm), "mm")
    high = Length(EXACT.add((limits.high or limits.low).mm, window.mm), "mm")
    if limits.low.unit != "in":
        return str(low), str(high)
    return other_text(low), other_text(high)


def _limits(journal: JournalPlan) -> str:
    limits = journal.limits
    words = [
        f"<b>{band_text(limits.low, limits.high)}</b> ({other_band_text(limits.low, limits.high)})"
    ]
    if journal.undersize:
        words.insert(0, f"as undersize {_text(journal.undersize)}:")
    sign = "at most" if limits.is_form_equal_allowed else "under"
    forms = [("out-of-round", limits.out_of_round), ("taper", limits.taper)]
    if limits.taper == limits.out_of_round and limits.taper_per is None:
        forms = [("out-of-round, taper", limits.taper)]
    for word, limit in forms:
        if limit is not None:
            per = f" per {limits.taper_per}" if word == "taper" and limits.taper_per else ""
            words.append(f"{word} {sign} {limit} ({other_text(limit)}){per}")
    return "; ".join(words)


def _turn(block: SheetBlock) -> Iterator[str]:
    """One operator's trial: a list in the order drawn."""
    yield f'<h3>{_text(block.turn)}</h3><div class="turn">'
    for box in block.boxes:
        at = box.position
        place = f"{_text(at.journal)} {_text(at.station)} {at.angle_deg}°"
        yield f"<div><small>{box.number}</small><b>{place}</b><i></i></div>"
    yield "</div>"
