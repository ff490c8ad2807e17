"""A draft as the text of its plan file. Pure."""

from collections.abc import Mapping, Sequence

from daq.plan.drafting.changes import changed_table
from daq.plan.drafting.draft import Draft
from daq.plan.drafting.existing import table_of
from daq.plan.drafting.new_plan import new_table
from daq.plan.drafting.remarks import Place, Remark, moved, remarks_in, without
from daq.plan.drafting.toml_text import HEAD, our_remarks, plan_text


def text_of(draft: Draft) -> str:
    """The plan file that a draft makes; an existing one word for word where nothing was changed."""
    if draft.before is None:
        table = new_table(draft)
        return plan_text(table, {**our_remarks(table), **_head(HEAD)})
    before = table_of(draft.before)
    table = changed_table(draft)
    if table == before:
        return draft.before
    old = our_remarks(before)
    people = moved(without(remarks_in(draft.before), old), before, table)
    ours = our_remarks(table) if _has_ours(draft.before, old) else {}
    return plan_text(table, {**ours, **people})


def _has_ours(text: str, ours: Mapping[Place, Remark]) -> bool:
    """The file has this program's remarks already, so that they are written anew."""
    found = remarks_in(text)
    return any(found.get(place, Remark()).behind == one.behind for place, one in ours.items())


def _head(lines: Sequence[str]) -> dict[Place, Remark]:
    return {("", "schema"): Remark(lead=tuple(lines))}
