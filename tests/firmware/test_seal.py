"""Sealed or open, accepted or rejected, as a person at the line sees it; and the order of event and change."""

import pytest

from shared_calc import coefficient_record
from tests.firmware.parts import EVENT_BYTES, SLOT_BYTES, Bench, Folder, record

ONE, TWO = coefficient_record.identity(record(1)), coefficient_record.identity(record(2))

# Every command that sets something, with arguments it takes: what moves the indication, and what does not.
MOVE_THE_INDICATION = {
    "CALibration:DATA": [f'"{record(2).hex()}"', f'"{record(1).hex()}"'],
    "CALibration:TWOPoint:LOAD": ["1000", "1000,3000,0.1"],
}
# Zero-setting and tare are the user's own, within their limits, on a sealed instrument too (OIML R 76-1:2006, 4.5 and
# 4.6, from memory); a unit is another form of the same indication.
USERS_OWN = {
    "SENSe:ZERO": [""],
    "SENSe:ZERO:INITial": [""],
    "SENSe:ZERO:CLEar": [""],
    "SENSe:ZERO:TRACking": ["ON", "OFF"],
    "SENSe:TARE": [""],
    "SENSe:TARE:CLEar": [""],
    "UNIT:MASS": ["KG", "G"],
    "UNIT:PIECes": ["10"],
    "CALibration:TWOPoint:EMPTy": [""],
}
DO_NOT = {
    "*RST": [""],
    "*CLS": [""],
    "INITiate:CONTinuous": ["ON", "OFF"],
    "CALibration:SEAL": ["ON", "OFF"],
    "CALibration:VERification": ["ACC", "REJ,why"],
}
SETTING = [header for header, _ in Bench().device.commands if not header.endswith("?")]


@pytest.fixture
def bench():
    bench = Bench()
    assert bench.ask(f'CAL:DATA "{record(1).hex()}"') == []
    bench.convert(98100)
    return bench


@pytest.fixture
def sealed(bench):
    assert bench.ask("CAL:SEAL ON") == []
    return bench


def indication_and_flags(bench):
    bench.convert(98100)
    fields = bench.ask("FETC?")[0].split(",")
    return fields[3], fields[5]


def events(bench):
    """Return the counter, and (number, reason, before, after) of each event kept."""
    count, *rest = bench.ask("SYST:EVEN?")[0].split(";")
    return int(count), [(int(n), reason, old, new) for n, _, reason, old, new in (event.split(",") for event in rest)]


@pytest.mark.parametrize("header", MOVE_THE_INDICATION)
def test_sealed_the_device_refuses_whatever_moves_the_indication(sealed, header):
    sealed.convert(*[98100] * 20)
    sealed.ask("CAL:TWOP:EMPT")
    sealed.convert(*[999000] * 20)
    before = sealed.state(), events(sealed), dict(sealed.folder.files)
    for argument in MOVE_THE_INDICATION[header]:
        (answer,) = sealed.ask(f"{header} {argument}")
        assert answer.startswith('!-203,"Command protected')
    assert (sealed.state(), events(sealed), sealed.folder.files) == before
    sealed.convert(98100)
    assert indication_and_flags(sealed)[0] == "100.0"


@pytest.mark.parametrize("header", USERS_OWN)
def test_sealed_the_user_s_own_commands_leave_the_coefficients_alone(sealed, header):
    before = sealed.state(), events(sealed)
    for argument in USERS_OWN[header]:
        sealed.ask(f"{header} {argument}".strip())
    assert (sealed.state(), events(sealed)) == before
    assert sealed.device.chain.record is not None and sealed.device.seal.is_sealed


@pytest.mark.parametrize("header", DO_NOT)
def test_sealed_the_others_leave_the_indication_alone(sealed, header):
    for argument in DO_NOT[header]:
        sealed.ask(f"{header} {argument}".strip())
    sealed.ask("INIT:CONT OFF")
    sealed.console.lines()
    assert indication_and_flags(sealed)[0] == "100.0"
    assert sealed.device.seal.is_sealed


@pytest.mark.parametrize("header", SETTING)
def test_every_command_that_sets_something_is_known_to_move_the_indication_or_not(header):
    """A new command has to be entered above; where it moves the indication it calls seal.require_open()."""
    assert [header in known for known in (MOVE_THE_INDICATION, USERS_OWN, DO_NOT)].count(True) == 1


def test_the_seal_survives_a_start_and_opens_only_by_a_hand_on_the_switch(sealed):
    again = Bench(sealed.folder)
    assert again.ask("CAL:SEAL?") == ["1"]
    (answer,) = again.ask("CAL:SEAL OFF")
    assert answer == '!-203,"Command protected; hold the opening switch meanwhile"'
    again.switch.has_hand = True
    assert again.ask("CAL:SEAL OFF") == []
    again.switch.has_hand = False
    assert again.ask("CAL:SEAL?") == Bench(sealed.folder).ask("CAL:SEAL?") == ["0"]
    assert again.ask(f'CAL:DATA "{record(2).hex()}"') == []
    assert events(again) == (
        4,
        [
            (4, "COEFFICIENTS", ONE, TWO),
            (3, "OPENED", ONE, ONE),
            (2, "SEALED", ONE, ONE),
            (1, "COEFFICIENTS", "none", ONE),
        ],
    )
    assert "events=4" in again.ask("*IDN?")[0]


def test_what_is_so_already_is_no_event(sealed):
    sealed.ask("CAL:SEAL ON")
    assert events(sealed)[0] == 2


def test_a_board_that_could_not_open_the_seal_does_not_put_it_on():
    bench = Bench(has_switch=False)
    assert bench.ask("CAL:SEAL ON") == ['!-241,"Hardware missing; this board has no opening switch"']
    assert bench.ask("CAL:SEAL?") == ["0"]


@pytest.mark.parametrize("has_switch", [True, False])
def test_a_state_that_was_lost_is_sealed_where_a_switch_can_open_it(sealed, has_switch):
    for slot in ("events_a.bin", "events_b.bin"):
        sealed.folder.files[slot] = b"rubbish"
    again = Bench(sealed.folder, has_switch=has_switch)
    assert again.ask("SYST:ERR?") == ['-230,"Data corrupt or stale; an event slot is damaged"']
    assert again.ask("CAL:SEAL?") == ["1" if has_switch else "0"]
    assert indication_and_flags(again)[0] == "100.0"


def test_a_rejected_scale_says_so_in_every_reading_and_after_a_start_until_it_is_accepted(sealed):
    assert sealed.ask("CAL:VER?") == ['NONE,""']
    assert sealed.ask('CAL:VER REJ,"corner error 3 e"') == []
    for bench in (sealed, Bench(sealed.folder)):
        assert indication_and_flags(bench) == ("100.0", "MOVING|REJECTED")
        assert bench.ask("CAL:VER?") == ['REJECTED,"corner error 3 e"']
        assert bench.ask("*TST?") == ["0"]  # no fault: it can be verified again
    assert bench.ask("CALibration:VERification ACCepted") == []
    for after in (bench, Bench(sealed.folder)):
        assert indication_and_flags(after) == ("100.0", "MOVING")
        assert after.ask("CAL:VER?") == ['ACCEPTED,""']
    assert bench.ask("CAL:SEAL?") == ["1"]


def test_new_coefficients_end_an_acceptance_and_not_a_rejection(bench):
    bench.ask("CAL:VER ACC")
    bench.ask(f'CAL:DATA "{record(2).hex()}"')
    assert bench.ask("CAL:VER?") == ['NONE,""']
    bench.ask("CAL:VER REJ,worn")
    bench.ask(f'CAL:DATA "{record(1).hex()}"')
    assert bench.ask("CAL:VER?") == ['REJECTED,"worn"']


@pytest.mark.parametrize(
    ("argument", "code"),
    [("REJ", -224), ("REJ,", -224), ("ACC,why", -224), ("", -109), ("REJ," + "x" * 41, -222), ('REJ,a"b', -222)],
)
def test_a_verification_is_refused_where_it_does_not_say_enough(bench, argument, code):
    assert bench.ask(f"CAL:VER {argument}")[0].startswith(f"!{code},")
    assert events(bench)[0] == 1


def test_the_power_cut_at_any_byte_of_a_change_leaves_no_change_without_its_event():
    """The event goes first: with the new coefficients in use the counter has moved, wherever the cut was."""
    for bytes_left in range(EVENT_BYTES + SLOT_BYTES + 1):
        folder = Folder()
        bench = Bench(folder)
        bench.ask(f'CAL:DATA "{record(1).hex()}"')
        folder.bytes_left = bytes_left
        assert bench.ask(f'CAL:DATA "{record(2).hex()}"')[0].startswith("!-250,")
        folder.bytes_left = None
        again = Bench(folder)
        assert again.device.store.data in (record(1), record(2))
        assert again.device.store.data == record(1) or events(again)[0] == 2
        assert events(again)[0] in (1, 2)
