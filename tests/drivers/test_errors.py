"""What a program ends with, by the kind of error."""

import importlib
import pkgutil
from collections.abc import Iterator

import drivers
from drivers.errors import (
    DriverError,
    PortBusy,
    PortError,
    PortLost,
    PortNameError,
    PortUnavailable,
    ProfileError,
    RuleRefused,
)


def below(kind: type[DriverError]) -> Iterator[type[DriverError]]:
    yield kind
    for child in kind.__subclasses__():
        yield from below(child)


def test_what_was_typed_ends_in_2_and_a_port_that_cannot_be_used_in_3() -> None:
    codes = {kind: kind.exit_code for kind in below(DriverError)}
    assert codes == {
        DriverError: 2,
        ProfileError: 2,
        RuleRefused: 2,
        PortNameError: 2,
        PortError: 3,
        PortUnavailable: 3,
        PortBusy: 3,
        PortLost: 3,
    }


def test_all_errors_of_the_drivers_stand_in_one_file() -> None:
    for module in pkgutil.walk_packages(drivers.__path__, "drivers."):
        importlib.import_module(module.name)
    assert {kind.__module__ for kind in below(DriverError)} == {"drivers.errors"}
