"""What is needed decides alone whether a machine is fit."""

import pytest

from daq.services.doctor.finding import MachineFinding, is_fit


@pytest.mark.parametrize(
    ("ok", "needed", "fit"),
    [(True, True, True), (True, False, True), (False, False, True), (False, True, False)],
)
def test_a_machine_is_unfit_only_by_what_is_needed_and_missing(
    ok: bool, needed: bool, fit: bool
) -> None:
    good = MachineFinding("x", True, True, "")
    assert is_fit((good, MachineFinding("y", ok, needed, ""))) is fit


def test_nothing_found_is_fit() -> None:
    assert is_fit(())
