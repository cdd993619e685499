"""Commands as a person types them, through a whole device.

SCPI-1999 and IEEE 488.2-1992 are not open documents: rules and clause numbers are from memory, and the rules agree with
what the programming manuals of instruments in general print.
"""

import itertools
import re

import pytest

from scalewright_device.command_table import COMMANDS, CommandError, describe_error, matches
from scalewright_device.weighing_commands import WEIGHING_COMMANDS
from shared_calc import coefficient_record
from shared_calc.reading import NO_DATA
from tests.firmware.parts import Bench, record

HEADERS = [header for header, _ in COMMANDS + WEIGHING_COMMANDS]
QUERIES_WITHOUT_COEFFICIENTS = [h for h in HEADERS if h.endswith("?") and h not in ("READ?", "CALibration:DATA?")]

# SCPI-1999 volume 2, 21.8.9 to 21.8.11 (from memory)
STANDARD_ERRORS = {
    0: "No error",
    -101: "Invalid character",
    -104: "Data type error",
    -108: "Parameter not allowed",
    -109: "Missing parameter",
    -113: "Undefined header",
    -200: "Execution error",
    -203: "Command protected",
    -222: "Data out of range",
    -224: "Illegal parameter value",
    -230: "Data corrupt or stale",
    -241: "Hardware missing",
    -250: "Mass storage error",
    -310: "System error",
    -321: "Out of memory",
    -350: "Queue overflow",
    -360: "Communication error",
    -363: "Input buffer overrun",
}


def hexadecimal(number):
    return f'"{record(number).hex()}"'


@pytest.fixture
def bench():
    """A calibrated device that has weighed 100.0 g and is sending readings."""
    bench = Bench()
    bench.ask(f"CAL:DATA {hexadecimal(1)}")
    bench.convert(98100)
    bench.ask("INIT:CONT ON")
    return bench


@pytest.fixture
def idle():
    return Bench()


def errors_of(bench):
    """Empty the error queue and return what was in it."""
    errors = []
    while (error := bench.ask("SYST:ERR?")[0]) != '0,"No error"':
        errors.append(error)
    return errors


# Arguments


@pytest.mark.parametrize("header", HEADERS)
@pytest.mark.parametrize("argument", ["MAYBE", '"00', "-", "1,1", '"' + "00" * coefficient_record.SIZE + '"'])
def test_every_command_refuses_an_argument_it_does_not_take_and_changes_nothing(bench, header, argument):
    before = bench.state()
    (answer,) = bench.ask(f"{header} {argument}")
    assert re.fullmatch(r'!-(104|108|200|222|224),".+"', answer)
    assert bench.state() == before
    assert errors_of(bench) == [answer[1:]]


@pytest.mark.parametrize(
    "header", ["INITiate:CONTinuous", "CALibration:DATA", "CALibration:SEAL", "CALibration:VERification"]
)
def test_a_command_that_needs_an_argument_says_so_when_there_is_none(bench, header):
    before = bench.state()
    (answer,) = bench.ask(header)
    assert answer.startswith('!-109,"Missing parameter')
    assert bench.state() == before


@pytest.mark.parametrize("on, off", [("ON", "OFF"), ("1", "0"), ("on", "off"), ("  On  ", " Off ")])
def test_continuous_readings_are_switched_on_and_off(idle, on, off):
    # Boolean program data: SCPI-1999 volume 1, 7.3
    assert idle.ask(f"INIT:CONT {on}") == []
    assert idle.ask("INIT:CONT?") == ["1"]
    assert idle.ask(f"INIT:CONT {off}") == []
    assert idle.ask("INIT:CONT?") == ["0"]


# Headers


def short_form(word):
    """SCPI-1999 volume 1, 6.2.1: up to four letters stay; else the first four, or three where the fourth is a vowel."""
    letters = word.rstrip("?")
    mark = word[len(letters) :]
    if len(letters) <= 4:
        return word.upper()
    return (letters[:3] if letters[3].upper() in "AEIOU" else letters[:4]).upper() + mark


@pytest.mark.parametrize("header", [h for h in HEADERS if not h.startswith("*")])
def test_the_capitals_of_a_header_are_its_short_form_by_the_rule(header):
    for word in header.split(":"):
        assert re.sub("[a-z]", "", word) == short_form(word)


@pytest.mark.parametrize("header", HEADERS)
def test_a_header_is_known_in_its_short_and_long_form_only(header):
    forms = [{word.upper(), short_form(word)} if "*" not in word else {word} for word in header.split(":")]
    known = {":".join(words) for words in itertools.product(*forms)}
    for form in known:
        assert matches(header, form)
    for length in range(1, len(header)):
        assert matches(header, header[:length].upper()) == (header[:length].upper() in known)
        in_between = header[:length].upper() + "?" * header.endswith("?")
        assert matches(header, in_between) == (in_between in known)
    assert not matches(header, header.upper() + "X")
    assert not matches(header, header.upper() + ":NEXT")


@pytest.mark.parametrize("line", ["SYST:ERROR?", "system:err?", ":SYST:ERR?", "  syst:err?  "])
def test_forms_may_be_mixed_and_case_blanks_and_a_leading_colon_do_not_matter(idle, line):
    assert idle.ask(line) == ['0,"No error"']


def test_no_header_is_two_commands():
    for header in HEADERS:
        assert [other for other in HEADERS if matches(other, header.upper())] == [header]
        assert [other for other in HEADERS if matches(other, re.sub("[a-z]", "", header))] == [header]


@pytest.mark.parametrize(
    "line", ["*IDN", "IDN?", "SYST", "SYST:ERR", "ERR?", "::READ?", "READ ?", "CAL:DATA??", "*IDN?;*OPC?", "?", ":"]
)
def test_an_unknown_header_is_an_error_that_repeats_it(idle, line):
    (answer,) = idle.ask(line)
    assert answer == f'!-113,"Undefined header{"; " + shown if (shown := line.split()[0].removeprefix(":")) else ""}"'


def test_the_headers_of_all_commands_are_listed_also_those_of_the_board():
    bench = Bench(commands=[("SIMulation:LOAD", lambda device, argument: "put " + argument)])
    assert bench.ask("SYST:HELP:HEAD?") == [" ".join(HEADERS) + " SIMulation:LOAD"]
    assert bench.ask("SIM:LOAD 5") == ["put 5"]


# The error queue: SCPI-1999 volume 2, 21.8


@pytest.mark.parametrize("code", STANDARD_ERRORS)
def test_an_error_is_a_number_and_its_text_in_quotes(code):
    assert describe_error(code) == f'{code},"{STANDARD_ERRORS[code]}"'
    assert describe_error(code, "why") == f'{code},"{STANDARD_ERRORS[code]}; why"'


def test_a_detail_neither_ends_the_string_nor_looks_like_a_frame():
    assert describe_error(-113, 'A"B~C') == '-113,"Undefined header; A\'B-C"'


def test_errors_are_read_first_in_first_out_and_then_there_is_none(idle):
    idle.ask("FIRST")
    idle.ask("*IDN? SECOND")
    assert idle.ask("SYST:ERR?") == ['-113,"Undefined header; FIRST"']
    assert idle.ask("SYST:ERR?") == ['-108,"Parameter not allowed; SECOND"']
    assert idle.ask("SYST:ERR?") == ['0,"No error"']


def test_on_overflow_the_last_error_gives_way_to_queue_overflow_and_the_oldest_stay(idle):
    for number in range(12):
        idle.ask(f"E{number}")
    assert errors_of(idle) == [f'-113,"Undefined header; E{number}"' for number in range(7)] + ['-350,"Queue overflow"']
    idle.ask("AGAIN")
    assert errors_of(idle) == ['-113,"Undefined header; AGAIN"']


def test_clear_status_empties_the_error_queue_and_reset_does_not(idle):
    # IEEE 488.2, 10.3 and 10.32
    idle.ask("WRONG")
    assert idle.ask("*RST") == []
    assert idle.ask("SYST:ERR?") == ['-113,"Undefined header; WRONG"']
    idle.ask("WRONG")
    assert idle.ask("*CLS") == []
    assert idle.ask("SYST:ERR?") == ['0,"No error"']


@pytest.mark.parametrize("header", QUERIES_WITHOUT_COEFFICIENTS)
def test_every_query_is_answered_with_one_line_and_leaves_no_error(idle, header):
    idle.convert(1)
    assert len(idle.ask(header)) == 1
    assert idle.device.errors == []


# Common commands: IEEE 488.2, chapter 10


@pytest.mark.parametrize("events", [0, 1, 9999])
def test_the_identification_has_four_fields_and_at_most_72_characters(idle, events):
    # 10.14.3: no commas, semicolons or control characters within a field
    idle.device.board.name = "rp2"
    idle.device.board.serial_number = "E66118604B3F2A21"  # 16 digits, as on the board
    if events:
        idle.ask(f"CAL:DATA {hexadecimal(1)}")
        idle.device.seal.log.count = events
    (answer,) = idle.ask("*IDN?")
    maker, model, serial_number, firmware = answer.split(",")
    assert (maker, model, serial_number) == ("Scalewright", "rp2", "E66118604B3F2A21")
    assert re.fullmatch(rf"\d+\.\d+\.\d+ coefficients=(none|[0-9A-F]{{8}}) events={events}", firmware)
    assert len(answer) <= 72


def test_the_identification_names_the_coefficients_by_their_crc(bench):
    assert f"coefficients={coefficient_record.identity(record(1))} events=1" in bench.ask("*IDN?")[0]


def test_operation_complete_answers_1(idle):
    assert idle.ask("*OPC?") == ["1"]  # 10.19


def test_the_self_test_is_0_where_all_is_well_else_the_flags(bench, idle):
    # 10.38: 0 means passed
    assert bench.ask("*TST?") == ["0"]
    assert idle.ask("*TST?") == [str(NO_DATA)]


def test_reset_ends_continuous_readings_and_leaves_the_coefficients(bench):
    assert bench.ask("*RST") == []
    assert bench.ask("INIT:CONT?") == ["0"]
    assert bench.ask("CAL:DATA?") == [hexadecimal(1)]


# Readings and coefficients


def test_read_is_answered_by_the_next_reading_and_fetch_by_the_latest(idle):
    idle.convert(7)
    assert idle.ask("FETC?") == ["1,100,7,,,UNCALIBRATED"]
    assert idle.ask("READ?") == []
    idle.convert(8)
    assert idle.console.lines() == ["2,200,8,,,UNCALIBRATED"]


def test_the_raw_counts_are_fetched_only_where_there_are_any(idle):
    assert idle.ask("FETC:COUN?") == ['!-230,"Data corrupt or stale; NO_DATA"']
    idle.convert(-8388608)
    assert idle.ask("FETC:COUN?") == ["-8388608"]
    idle.convert(None)
    assert idle.ask("FETC:COUN?") == ['!-230,"Data corrupt or stale; BAD_FRAME"']


def test_coefficients_are_stored_and_read_back(idle):
    assert idle.ask("CAL:DATA?") == ['!-230,"Data corrupt or stale; no coefficients stored"']
    assert idle.ask(f"CAL:DATA {hexadecimal(3)}") == []
    assert idle.ask("CAL:DATA?") == [hexadecimal(3)]
    assert idle.ask(f"CAL:DATA {hexadecimal(4).strip(chr(34)).upper()}") == []  # no quotes, capitals
    assert idle.ask("CAL:DATA?") == [hexadecimal(4)]


def refused_records():
    good = record(1)
    yield "-222", good[:-1].hex()
    yield "-222", (good + b"\0").hex()
    yield "-222", bytes(len(good)).hex()
    for position in range(len(good)):
        yield "-222", (good[:position] + bytes([good[position] ^ 0x10]) + good[position + 1 :]).hex()
    yield "-104", good.hex()[:-1]
    yield "-104", good.hex()[:-1] + "G"
    yield "-104", "0x" + good.hex()[2:]
    yield "-104", good.hex()[:10] + " " + good.hex()[10:]


def test_coefficients_that_may_not_be_used_are_refused_and_the_old_ones_stay(bench):
    before = bench.state()
    for code, text in refused_records():
        (answer,) = bench.ask(f'CAL:DATA "{text}"')
        assert answer.startswith(f"!{code},")
        assert bench.state() == before
    assert bench.ask("CAL:DATA?") == [hexadecimal(1)]


def test_a_command_error_carries_its_number_and_detail():
    error = CommandError(-222, "0 to 3000 g")
    assert (error.code, error.detail) == (-222, "0 to 3000 g")
