"""All that is looked at, in its order. Pure."""

from daq.services.doctor.computer import (
    clock_finding,
    command_findings,
    home_findings,
    python_findings,
    terminal_finding,
)
from daq.services.doctor.facts import MachineFacts
from daq.services.doctor.finding import MachineFinding
from daq.services.doctor.gauges import (
    grabber_finding,
    library_finding,
    port_findings,
    rule_findings,
)


def examined(facts: MachineFacts) -> tuple[MachineFinding, ...]:
    """A finding for each thing: first the gauges, then the computer."""
    return (
        *port_findings(facts.devices),
        *rule_findings(facts.devices),
        library_finding(facts.devices),
        grabber_finding(facts.devices),
        *home_findings(facts.home),
        clock_finding(facts.clock),
        terminal_finding(facts.terminal),
        *python_findings(facts.python),
        *command_findings(facts.commands),
    )
