"""What a session comes to, as the first sheet of a workbook says it: the sentences of the answer;
its table of journals stands below as numbers. Pure: records to lines.
"""

from daq.cli.views.answer_groups import answer_of_groups
from daq.cli.views.answer_measurement import cautions, measurement, not_examined
from daq.cli.views.ended import SessionEnd
from daq.export.xlsx import AnswerText
from drivers.printable import shown

MOST = 200
"""Characters of a name here; the whole stands in the tables."""


def answer_texts(end: SessionEnd) -> list[AnswerText]:
    """The lines, the answer first."""
    opened, plan = end.state.opened, end.state.plan
    part = shown(opened.part or plan.part, MOST)
    what = part if part == plan.part else f"{part} ({shown(plan.part, MOST)})"
    gauges = dict.fromkeys(stint.source.gauge for stint in end.state.stints)
    about = {
        "Job": opened.job,
        "Operator": opened.operator,
        "Gauge": ", ".join(gauges),
        "Session": f"{opened.session}, {end.verdict}",
    }
    return [
        AnswerText(f"Gauge study on {what}" if end.is_study else what, is_bold=True),
        *(AnswerText(said.text, is_bold="bold" in said.style) for said in answer_of_groups(end)),
        *(AnswerText(said.text) for said in (measurement(end), *not_examined(end), *cautions(end))),
        *(AnswerText(f"{name}: {shown(text, MOST)}") for name, text in about.items() if text),
    ]
