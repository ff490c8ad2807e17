"""Questions about a group of journals alike: limits, cross-check, undersizes, form."""

from collections.abc import Iterator

import msgspec

from daq.lengths import Length, parse_length, plain
from daq.plan.drafting import typed
from daq.plan.drafting.asking import (
    AS_THEY_ARE,
    Asked,
    PlanQuestion,
    Read,
    again,
    called,
    group_of,
    key_of,
    option_of,
    unit_of,
)
from daq.plan.drafting.draft import Draft, DraftGroup, DraftStep
from daq.plan.drafting.typed import Misread
from daq.plan.drafting.units import band_text, other_band_text, other_text, with_other
from daq.plan.fields import check_limit
from drivers.toml_file import WrongKey


def of_group(draft: Draft, group: DraftGroup, last: DraftGroup | None) -> Iterator[Asked]:
    """Limits, cross-check, undersizes, form; `last` is the group before it."""
    name = group.name
    yield _limits(draft, group), _reads_limits(name)
    if draft.has_both_units:
        yield _cross(draft, group), _reads_cross(name)
    if name:
        yield _undersizes(draft, group, last), _reads_undersizes(name)
    yield _form(draft, group, last), _reads_form(name)


def _limits(draft: Draft, group: DraftGroup) -> PlanQuestion:
    default = None
    if "limits" in group.mixed:
        default = AS_THEY_ARE
    elif group.low is not None and group.high is not None:
        default = f"{plain(group.low.value)} {group.high}"
    elif group.low is not None:
        default = AS_THEY_ARE
    example = "59.970 59.990" if draft.unit == "mm" else "2.3610 2.3618"
    return PlanQuestion(
        key_of(group, "limits"),
        f"{called(group)}: low and high limit of the diameter, as printed ({draft.unit})?",
        default,
        f"The manual's standard diameter, smallest and largest, like {example}; decimal comma or "
        "point; a unit behind them goes before the usual one.",
        option_of(group, "limits", f"{example} {draft.unit}"),
    )


def _reads_limits(name: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        group = group_of(draft, name)
        pair, cross = typed.limits_in(text, draft.unit)
        is_same = (group.low, group.high) == (pair.low, pair.high)
        is_stack_lost = bool(group.stack) and not is_same
        steps = group.steps
        if not is_same and group.low and group.high:
            # Undersizes that were worked out go with the limits; printed ones stay.
            worked = _is_worked_out(group)
            steps = tuple(_moved(step, pair.low, pair.high) for step in steps) if worked else steps
        group = msgspec.structs.replace(
            group,
            low=pair.low,
            high=pair.high,
            cross_low=group.cross_low if is_same else None,
            cross_high=group.cross_high if is_same else None,
            steps=steps,
            stack=group.stack if is_same else "",
            is_stack_wanted=group.is_stack_wanted or is_stack_lost,
            mixed=tuple(word for word in group.mixed if word != "limits"),
        )
        words = _both(pair.low, pair.high)
        if pair.is_swapped:
            words = f"The larger stood first; taken as low to high. {words}"
        changed = draft.with_group(group)
        if not is_same:
            changed = again(changed, key_of(group, "stack"))
        if is_stack_lost and typed.is_none(changed.blocks):
            # Without blocks nobody would ask for another stack.
            changed = again(msgspec.structs.replace(changed, blocks=""), "blocks")
        if cross is not None:
            changed, more = _crossed(changed, group, cross)
            changed = msgspec.structs.replace(
                changed, asked=(*changed.asked, key_of(group, "cross-check"))
            )
            words = f"{words}; {more}"
        return changed, words

    return read


def _both(low: Length, high: Length) -> str:
    return with_other(band_text(low, high), other_band_text(low, high))


def _moved(step: DraftStep, low: Length, high: Length) -> DraftStep:
    return DraftStep(step.name, step.by, typed.less(low, step.by), typed.less(high, step.by))


def _is_worked_out(group: DraftGroup) -> bool:
    """Every undersize has the standard limits less so much."""
    low, high = group.low, group.high
    if low is None or high is None:
        return False
    return all(
        step.high is not None
        and (step.low.mm, step.high.mm)
        == (typed.less(low, step.by).mm, typed.less(high, step.by).mm)
        for step in group.steps
    )


def _cross(draft: Draft, group: DraftGroup) -> PlanQuestion:
    default = "none"
    if group.cross_low is not None and group.cross_high is not None:
        default = f"{plain(group.cross_low.value)} {group.cross_high}"
    return PlanQuestion(
        key_of(group, "cross-check"),
        f"{called(group)}: the same limits in {draft.other_unit}, as printed?",
        default,
        "Both are compared, so that a misprint shows; what counts is the first pair. None if the "
        "manual gives only one.",
        option_of(group, "cross-check", "2.3610 2.3618 in"),
    )


def _reads_cross(name: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        group = group_of(draft, name)
        if typed.is_none(text):
            return draft.with_group(
                msgspec.structs.replace(group, cross_low=None, cross_high=None)
            ), ""
        pair, _ = typed.limits_in(text, draft.other_unit)
        return _crossed(draft, group, pair)

    return read


def _crossed(draft: Draft, group: DraftGroup, cross: typed.Pair) -> tuple[Draft, str]:
    """With a cross-check that agrees to one unit of its last digit."""
    for stated, printed in ((group.low, cross.low), (group.high, cross.high)):
        try:
            check_limit([str(stated), str(printed)], "")
        except WrongKey as wrong:
            raise Misread(wrong.reason[:1].upper() + wrong.reason[1:] + ".") from wrong
    group = msgspec.structs.replace(group, cross_low=cross.low, cross_high=cross.high)
    return draft.with_group(group), "the cross-check agrees"


def _undersizes(draft: Draft, group: DraftGroup, last: DraftGroup | None) -> PlanQuestion:
    default = undersizes_text(group)
    key = key_of(group, "undersizes")
    if not group.steps and key not in draft.asked and draft.before is None and last is not None:
        default = undersizes_text(last) if _is_worked_out(last) and last.steps else "none"
    example = "0.25 0.50 0.75" if unit_of(draft, group) == "mm" else ".010 .020 .030"
    return PlanQuestion(
        key,
        f"{called(group)}: undersizes there are bearings for, like {example}, or none?",
        default,
        "Each one's limits are the standard ones less so much; where the manual prints others, "
        f"type them behind a colon: {_printed_example(draft, group)}.",
        option_of(group, "undersizes", example),
    )


def _printed_example(draft: Draft, group: DraftGroup) -> str:
    by = parse_length("0.25 mm" if unit_of(draft, group) == "mm" else "0.010 in")
    if group.low is None or group.high is None or "limits" in group.mixed:
        return "0.25: 59.720 59.740"
    low, high = typed.less(group.low, by), typed.less(group.high, by)
    return f"{plain(by.value)}: {plain(low.value)} {plain(high.value)}"


def undersizes_text(group: DraftGroup) -> str:
    """The undersizes as people type them."""
    if not group.steps:
        return "none"
    if any(step.high is None for step in group.steps):
        return AS_THEY_ARE
    words = []
    for step in group.steps:
        by = str(step.by) if group.low is None or step.by.unit != group.low.unit else step.name
        by = by if by.replace(".", "").isdigit() else str(step.by)
        if _is_worked_out(group):
            words.append(by)
        else:
            assert step.high is not None
            words.append(f"{by}: {plain(step.low.value)} {step.high}")
    return (" " if _is_worked_out(group) else "; ").join(words)


def _reads_undersizes(name: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        group = group_of(draft, name)
        if typed.is_none(text):
            return draft.with_group(msgspec.structs.replace(group, steps=())), ""
        if group.low is None or group.high is None or "limits" in group.mixed:
            raise Misread("Undersizes need one low and one high limit for the whole group.")
        steps = typed.undersizes_in(text, unit_of(draft, group), group.low, group.high)
        _refuse_overlap(draft, group, steps)
        # A step that is there already keeps its name.
        known = {(one.by.mm, one.low.mm, one.high and one.high.mm): one for one in group.steps}
        steps = tuple(
            known.get((step.by.mm, step.low.mm, step.high and step.high.mm), step) for step in steps
        )
        changed = draft.with_group(msgspec.structs.replace(group, steps=steps))
        words = "; ".join(f"{step.name}: {band_text(step.low, step.high)}" for step in steps)
        return changed, words

    return read


def _refuse_overlap(draft: Draft, group: DraftGroup, steps: tuple[DraftStep, ...]) -> None:
    """Refuse bands that meet, so that a journal could be of either."""
    assert group.low is not None
    above, whose = group.low, "the standard low limit"
    for step in steps:
        if step.high is not None and step.high.mm >= above.mm:
            raise Misread(
                f"{step.name}: its high limit {step.high} is not under {whose} {above}. Is the "
                "undersize right? Printed limits go behind a colon, like "
                f"{_printed_example(draft, group)}."
            )
        above, whose = step.low, f"the low limit of {step.name},"


def _form(draft: Draft, group: DraftGroup, last: DraftGroup | None) -> PlanQuestion:
    key = key_of(group, "form")
    shown_of = group
    if (
        group.out_of_round is group.taper is None
        and key not in draft.asked
        and draft.before is None
        and last is not None
    ):
        shown_of = last
    default = AS_THEY_ARE if "form" in group.mixed else form_text(shown_of)
    small = "0.005" if unit_of(draft, group) == "mm" else ".0002"
    return PlanQuestion(
        key,
        f"{called(group)}: largest out-of-round and taper, like {small} {small}, or none?",
        default,
        "Limits of form on the diameter; one number goes for both, none where the manual has no "
        f"such limit ({small} none: out-of-round alone).",
        option_of(group, "form", f"{small} {small} {unit_of(draft, group)}"),
    )


def form_text(group: DraftGroup) -> str:
    """The limits of form as people type them."""
    limits = (group.out_of_round, group.taper)
    if limits == (None, None):
        return "none"
    if limits[0] == limits[1]:
        return str(limits[0])
    return " ".join("none" if limit is None else str(limit) for limit in limits)


def _reads_form(name: str) -> Read:
    def read(draft: Draft, text: str) -> tuple[Draft, str]:
        group = group_of(draft, name)
        out_of_round, taper = typed.form_in(text, unit_of(draft, group))
        mixed = tuple(word for word in group.mixed if word != "form")
        group = msgspec.structs.replace(group, out_of_round=out_of_round, taper=taper, mixed=mixed)
        said = [
            f"{word} {with_other(str(limit), other_text(limit))}"
            for word, limit in (("out-of-round", out_of_round), ("taper", taper))
            if limit is not None
        ]
        return draft.with_group(group), "; ".join(said)

    return read
