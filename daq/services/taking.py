"""How a run takes its readings: options, gauge file and profile put together."""

from daq.acquisition.bound_keys import LIKE, BoundKeys, bound_keys
from daq.acquisition.inputs import TakingMode
from daq.acquisition.send_key import SendKey
from daq.equipment.gauge import TYPED_PORT, Gauge
from daq.errors import UsageError
from daq.services.choose import Chosen
from daq.services.run_wanted import UNATTENDED_WAIT_S, Attendance, TriggerOptions
from drivers.gauge.asking import Asking
from drivers.gauge.reader import Search
from drivers.ports.base import Port
from drivers.ports.returning import can_return, look_for
from drivers.profile.profile import Profile

POLL_EVERY_S = 0.2
"""Between the answers of a gauge that is asked again and again to see whether it rests."""


def taking_of(wanted: TriggerOptions, chosen: Chosen, there: Attendance) -> TakingMode:
    """The options put together with what profile and gauge file say; raises UsageError where they
    do not go together, or where nobody could ever trigger a reading.
    """
    profile, gauge, port = chosen.profile, chosen.gauge, chosen.port
    keys = None if wanted.send_key is None else bound_keys(wanted.send_key)
    if chosen.is_by_hand:
        _check_by_hand(wanted, keys)
    is_stream = wanted.continuous or (
        gauge is not None and gauge.continuous and not chosen.is_by_hand
    )
    is_asked = profile.is_asked and not is_stream
    rest_s = wanted.stable_s
    if not (is_stream or is_asked):
        own = (
            "is for a gauge that is asked or that sends without end (--continuous). This one "
            f"(profile {profile.id}) sends when its own button is pressed: leave it out"
        )
        if rest_s is not None:
            raise UsageError(f"--stable {own}.")
        if keys is not None and not keys.can_more:
            raise UsageError(f"--send-key {own}, or give its keys other words, like {LIKE}.")
    if is_asked and (port.startswith("usb:") or port == TYPED_PORT):
        raise UsageError(
            f"Profile {profile.id} asks the gauge for a reading, and one that types like a "
            f"keyboard ({port}) cannot be asked. Choose a profile without trigger."
        )
    if port == TYPED_PORT and not there.has_lines:
        raise UsageError(
            f"{TYPED_PORT} is for `jbridge measure` only, where a person types. Give the "
            "port that the gauge is on."
        )
    # A gauge that is asked by a text may have a button of its own as well; the others have none.
    only_pressed = is_stream or profile.kind == "modbus-rtu"
    needs_press = only_pressed and rest_s is None and not (keys and keys.can_send)
    is_typed = port == TYPED_PORT
    can_press = there.has_keyboard or there.has_page
    if (needs_press and not can_press) or (is_typed and not there.has_keyboard):
        words = "There is no keyboard, so nobody could ask for a reading."
        raise UsageError(words if is_typed else f"{words} Say --send-key, --stable or --board.")
    asking = None
    if is_asked:
        every_s = None if rest_s is None else POLL_EVERY_S
        asking = Asking(profile.trigger.reply_ms / 1000, every_s)
    return TakingMode(
        asking=asking,
        is_stream=is_stream,
        rest_s=rest_s,
        send_key=None if keys is None else SendKey(keys),
        search=_search(profile, gauge) if port != TYPED_PORT and can_return(port) else None,
        needs_press=needs_press or is_typed,
        is_script=not there.is_terminal,
        has_keyboard=there.has_keyboard,
        has_page=there.has_page,
        is_typed=is_typed,
        keys=keys if keys is not None and keys.words else None,
        answers=there.has_page or (keys is not None and keys.can_answer),
        wait_back_s=wanted.wait_back_s
        if wanted.wait_back_s is not None or there.is_terminal or there.has_page
        else UNATTENDED_WAIT_S,
    )


def _check_by_hand(wanted: TriggerOptions, keys: BoundKeys | None) -> None:
    """Refuse options of a gauge on a cable; raises UsageError."""
    given = {
        "--continuous": wanted.continuous,
        "--stable": wanted.stable_s is not None,
        "--send-key": keys is not None and not keys.can_more,
    }
    for option, is_given in given.items():
        if is_given:
            raise UsageError(
                f"{option} is for a gauge on a port, and here each value is typed. Leave it out."
            )


def _search(profile: Profile, gauge: Gauge | None) -> Search:
    # What a gauge file says is true of that gauge alone, so no other may take its place unasked.
    def search(lost: Port, gone_s: float) -> Port | None:
        return look_for(
            lost.name, lost.identity, profile.link, gone_s=gone_s, or_other=gauge is None
        )

    return search


def trigger_words(taking: TakingMode) -> list[str]:
    """How the operator triggers a reading, said once at the start."""
    said = []
    keys = "press Enter or the space bar"
    if taking.has_send_key:
        keys += ", or the send key"
    if taking.is_stream:
        said.append(
            f"the gauge sends all the time: {keys}, and the next reading counts; the others "
            "are shown, not stored"
        )
    elif taking.asking is not None:
        said.append(f"the gauge is asked for each reading: {keys}")
    if taking.rest_s is not None:
        said.append(
            f"a value near the size that rests for {taking.rest_s:g} s is taken by itself: "
            "move off before the next place"
        )
    if taking.keys is not None:
        said.append(f"send key: {taking.keys.told}")
        if taking.keys.can_send and not taking.has_trigger:
            said.append("this gauge sends by its own button: a key that sends does nothing here")
    return said
