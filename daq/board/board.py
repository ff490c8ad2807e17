"""The record of all that a person is shown now: plain data, so that a terminal, a page or another
program draws it without asking anything of the session. Pure.
"""

import msgspec

from daq.record.results import JournalResult


class Asked(msgspec.Struct, frozen=True):
    """What is asked for now: a headline, and what to do. `short` is to be read from afar: the place
    and its angle, or two words.
    """

    headline: str
    action: str
    short: str = ""


class PlaceAsked(msgspec.Struct, frozen=True):
    """The place to measure: `number` of `total` on the route; `who` measures in a study, else
    empty.
    """

    journal: str
    station: str
    angle_deg: int
    repeat: int
    number: int
    total: int
    who: str = ""


class CheckAsked(msgspec.Struct, frozen=True):
    """The check that is due: so many of `wanted` readings of the stack are in."""

    phase: str
    stack: str
    readings: int
    wanted: int


class LastValue(msgspec.Struct, frozen=True):
    """The latest thing that the gauge sent and that was kept; what was taken back is never it. `of`
    is part, stack or held, `place` where it belongs (empty: nowhere), for one that is held where it
    would. `counts`: it stands; else `why_not` says why it does not. `against_limits`: how it lies
    outside the size limits of its journal, empty if it does not.
    """

    value: str
    unit: str
    of: str
    place: str
    counts: bool
    why_not: tuple[str, ...] = ()
    against_limits: str = ""


class PlaceShown(msgspec.Struct, frozen=True):
    """One place of a journal of this run. `state`: to-come, measured (no check has proven it yet),
    proven, again (none can prove it any more) or skipped. Where a reading stands, `sent` and `unit`
    are its value as the gauge sent it, and `estimate_mm` the diameter that it alone gives at
    20 degrees Celsius, to 0.00001 mm.
    """

    station: str
    angle_deg: int
    repeat: int
    state: str = "to-come"
    sent: str = ""
    unit: str = ""
    estimate_mm: str = ""


class JournalRow(msgspec.Struct, frozen=True):
    """One journal of this run: its numbers and verdict so far, and how many of its standing
    readings a check has proven, none has proven yet, and none can prove any more. `unit` is the one
    that the plan prints its limits in; `places` are in route order.
    """

    result: JournalResult
    proven: int
    not_yet_proven: int
    tainted: int
    is_asked: bool = False
    unit: str = "mm"
    places: tuple[PlaceShown, ...] = ()


class CheckShown(msgspec.Struct, frozen=True):
    """A judged check; lengths in mm as in the tables, `at` UTC, `age_s` when the board was made."""

    check_no: int
    stint: int
    phase: str
    passed: bool
    mean_error_mm: str
    spread_mm: str
    drift_mm: str
    reason: str
    at: str
    age_s: int


class LinkShown(msgspec.Struct, frozen=True):
    """The gauge on its port."""

    gauge: str
    device: str
    port: str
    is_lost: bool = False


class Word(msgspec.Struct, frozen=True):
    """A word that is understood now, what follows it, and what it does."""

    word: str
    argument: str
    meaning: str = ""


class Board(msgspec.Struct, frozen=True, kw_only=True):
    """One moment of a session, or of a check outside any (then `session` and `rows` are empty).

    `step` rises when something was counted, proven or taken back, when another place or question
    stands, or other words are allowed. `status` is the session's; `places_*` count those of this
    run's route: `done` are measured or left out, of these a check has proven `proven`. `again`
    names the places that must be measured again since no check can prove what stands there, none of
    them done; `again_words` say so, and why. `is_strip_due`: what comes next is reached only after
    stripping, and nothing of it is measured yet. `next_check_by` is the moment (UTC) at which the
    last passed check is too old, empty where none is. `news` tells of the last step, `warnings`
    stay while they hold. `stop_rejects`: why `stop` would end as rejected now whatever its check
    says; `abandon_loses`: what `abandon` would lose; empty where they would not. A display that can
    ask asks once more where they are not. `cue` names what the last step is to sound like, empty
    for silence. `can_send`: a press here takes a reading, as on a gauge that is asked.
    `press_answers`: pressing again answers what is in question.
    """

    step: int
    made_at: str
    session: str
    job: str
    part: str
    operator: str
    status: str
    asked: Asked
    place: PlaceAsked | None = None
    check: CheckAsked | None = None
    last: LastValue | None = None
    rows: tuple[JournalRow, ...] = ()
    places_done: int = 0
    places_total: int = 0
    places_proven: int = 0
    again: tuple[str, ...] = ()
    again_words: str = ""
    is_strip_due: bool = False
    checks: tuple[CheckShown, ...] = ()
    next_check_by: str = ""
    link: LinkShown
    news: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    words: tuple[Word, ...] = ()
    stop_rejects: str = ""
    abandon_loses: str = ""
    verdict: str = ""
    reasons: tuple[str, ...] = ()
    cue: str = ""
    can_send: bool = False
    press_answers: bool = False
