"""The columns of the tables that came with rule set 3: the session itself, what was said and done
in it, and the sizes that its groups can serve at. Pure.
"""

from daq.export.column import ColumnKind, listed

_T, _L, _N, _S, _W, _I, _D, _X = (
    ColumnKind.TEXT,
    ColumnKind.LENGTH,
    ColumnKind.NUMBER,
    ColumnKind.LIST,
    ColumnKind.WHOLE,
    ColumnKind.TIME,
    ColumnKind.DATE,
    ColumnKind.DIGEST,
)

SESSIONS = listed(
    ("session_id", _T, "session that the row tells of"),
    ("job", _T, "job, as given"),
    ("part", _T, "part measured"),
    ("part_type", _T, "kind of part, from the plan"),
    ("operator", _T, "who measured, as given at the start"),
    ("gauge", _S, "gauges of the session in their order, joined by ;"),
    ("rule_set", _W, "rules by which the session was judged"),
    ("plan_sha256", _X, "SHA-256 of the plan's text as recorded"),
    ("begun_at", _I, "first line of the ledger, UTC"),
    ("closed_at", _I, "closing line, UTC, empty while the session is open"),
    ("closed_on", _D, "local date of the closing line, empty while the session is open"),
    ("local_offset", ColumnKind.OFFSET, "local time minus UTC where the last run ran"),
    ("part_temp_c", _N, "of the part, degrees Celsius, as given for the last run that has it"),
    ("gauge_temp_c", _N, "of the gauge, likewise"),
    ("stack_temp_c", _N, "of the stack, likewise"),
    ("session_verdict", _T, "verdict on the session"),
    ("reasons", _S, "why, in words with numbers, joined by ;"),
    ("readings", _W, "readings that stand at a place"),
    ("held", _W, "readings that were doubted, whatever became of them"),
    ("taken_back", _W, "readings that do not stand any more, of the part or of a stack"),
    ("skipped", _W, "places left out with a reason"),
    ("stints", _W, "how often a gauge was proven anew, from 1"),
    ("checks", _W, "checks that were judged"),
    ("checks_failed", _W, "those of them that failed"),
    ("program", _T, "version of the program that closed it, or began it while it is open"),
    ("last_chain", _X, "digest of the ledger's last line"),
)
NOTES = listed(
    ("session_id", _T, "session that the row belongs to"),
    ("job", _T, "job, as given"),
    ("gauge", _T, "gauge in use then, by the shop's name or the identity of its port"),
    ("closed_on", _D, "local date of the closing line, empty while the session is open"),
    ("seq", _W, "line of the ledger that tells it"),
    ("at", _I, "when, UTC"),
    (
        "kind",
        _T,
        "note, skip, void (taken back), kept and dropped (a doubted reading), zeroed, link_lost, "
        "link_back, resumed, despite-history, link, check, stop or later",
    ),
    ("journal", _T, "bearing surface that it is about"),
    ("station", _T, "place along the journal"),
    ("angle_deg", _W, "place around the journal, degrees"),
    ("text", _T, "what was said, or what happened"),
    (
        "by",
        _T,
        "keyboard, board (the page at the bench), send key, gauge or program; empty: not known",
    ),
    ("repeat", _W, "which repeat at this place, from 1"),
)
STEPS = listed(
    ("session_id", _T, "session that the row belongs to"),
    ("job", _T, "job, as given"),
    ("part", _T, "part measured"),
    ("group", _T, "group of journals"),
    ("gauge", _S, "gauges that read the journals of the row, joined by ;"),
    ("closed_on", _D, "local date of the closing line, empty while the session is open"),
    ("undersize", _T, "undersize of the plan, empty for the size that the part has"),
    ("by_mm", _L, "how much smaller than standard it is, 0 for standard"),
    ("low_limit_mm", _L, "low limit at this size, exactly"),
    ("high_limit_mm", _L, "high limit at this size, exactly"),
    (
        "cleans_up",
        _T,
        "whether the whole group serves at this size by its readings: yes, no, undecided or "
        "not-assessed",
    ),
    (
        "metal_left_mm",
        _L,
        "smallest estimate of the group less what it must not be under: the undersize's high "
        "limit, for bearings without grinding their least journal, for the present size the low "
        "limit",
    ),
    ("decided_by_journal", _T, "journal with the least metal left, or first out of form"),
    ("chosen", ColumnKind.TRUTH, "the next step goes to this size"),
    ("session_verdict", _T, "verdict on the session"),
)
