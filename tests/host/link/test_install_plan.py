"""What is planned for boards as they may be found."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from scalewright.errors import InputError, ScalewrightError
from scalewright.link.board_state import BoardState, Marker
from scalewright.link.bytecode import Image
from scalewright.link.firmware_files import Firmware
from scalewright.link.install_plan import BLOCKS_KEPT_FREE, Plan, plan_for

FIRMWARE = Firmware.installed()
NEW = BoardState("micropython", (1, 23, 0), "Raspberry Pi Pico", "rp2", 4870, "/", 4096, 300, {}, {}, {}, b"")
MARKER = "installed.txt"


def plan(state: BoardState, board: str | None = "rp2") -> Plan:
    return plan_for(state, board, FIRMWARE, "PORT")


def files_of(image: Image) -> Mapping[str, tuple[int, str]]:
    return {file.path: (len(file.content), file.sha256) for file in image.files}


def with_version(planned: Plan, state: BoardState = NEW) -> BoardState:
    """The board after that plan was carried out."""
    marker = Marker(state.next_sequence(), planned.version, planned.board, planned.image.digest).encode()
    files = {**files_of(planned.image), MARKER: (len(marker), "")}
    return replace(
        state,
        versions={**state.versions, planned.folder: files},
        markers={**state.markers, planned.folder: marker},
        root={"main.py": (len(planned.main.content), planned.main.sha256)},
        main_begins=planned.main.content[:64],
    )


def test_a_new_board_gets_all_files() -> None:
    planned = plan(NEW)
    assert (planned.folder, planned.is_in_use, planned.to_remove) == ("version_a", False, ())
    assert planned.to_copy == planned.image.files
    assert planned.folders()[:3] == ["version_a", "version_a/scalewright_device", "version_a/scalewright_device/adc"]


def test_what_is_in_use_is_not_copied_again() -> None:
    planned = plan(with_version(plan(NEW)), board=None)
    assert (planned.folder, planned.is_in_use, planned.to_copy, planned.to_remove) == ("version_a", True, (), ())


def test_a_damaged_version_in_use_is_written_anew_beside_itself() -> None:
    state = with_version(plan(NEW))
    files = {**state.versions["version_a"], "board.mpy": (10, "damaged")}
    planned = plan(replace(state, versions={"version_a": files}))
    assert (planned.folder, planned.to_copy) == ("version_b", planned.image.files)


def test_only_what_differs_is_replaced_and_what_is_stale_is_removed() -> None:
    """A source beside its bytecode would be the one that runs."""
    in_use = with_version(plan(NEW, "rp2_nau7802"))
    rest = {**files_of(plan(in_use).image), "board.mpy": (10, "half of it"), "shared_calc/curve.py": (10, "stale")}
    planned = plan(replace(in_use, versions={**in_use.versions, "version_b": rest}))
    assert planned.folder == "version_b"
    assert sorted(planned.to_remove) == ["board.mpy", "shared_calc/curve.py"]
    assert [file.path for file in planned.to_copy] == ["board.mpy"]


def test_the_board_in_use_is_kept_and_a_choice_is_asked_for_where_there_is_none() -> None:
    assert plan(with_version(plan(NEW, "rp2_nau7802")), board=None).board == "rp2_nau7802"
    with pytest.raises(InputError, match=r"several board files fit .*give --board rp2 or rp2_ads1232"):
        plan(NEW, board=None)


def test_the_main_of_another_program_is_kept_once() -> None:
    other = replace(NEW, root={"main.py": (9, "x")}, main_begins=b"import time\n")
    assert plan(other).keeps_main
    assert not plan(NEW).keeps_main
    assert not plan(with_version(plan(NEW))).keeps_main
    with pytest.raises(ScalewrightError, match=r"expected no main_kept\.py"):
        plan(replace(other, root={"main.py": (9, "x"), "main_kept.py": (9, "y")}))


def test_the_space_asked_for_is_what_the_files_take_and_the_coefficients_need() -> None:
    """Whole blocks for every file, two for every folder, one each for marker and main.py, and the reserve."""
    planned = plan(NEW)
    blocks = sum(-(-len(file.content) // 4096) for file in planned.image.files)
    blocks += 2 * len(planned.folders()) + 2 + BLOCKS_KEPT_FREE
    assert plan(replace(NEW, free_blocks=blocks)) == planned
    says = f"expected {blocks * 4} kB free for this version; seen: {blocks * 4 - 4} kB"
    with pytest.raises(ScalewrightError, match=says):
        plan(replace(NEW, free_blocks=blocks - 1))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"micropython": (1, 21, 0)}, "expected MicroPython 1.22 or later; seen: micropython 1.21.0 on"),
        ({"implementation": "circuitpython", "micropython": (9, 0, 0)}, "seen: circuitpython 9.0.0"),
        ({"platform": "webassembly"}, "expected a board there is a file for: "),
    ],
)
def test_a_board_that_cannot_be_is_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(ScalewrightError, match=says):
        plan(replace(NEW, **changes), board=None)  # type: ignore[arg-type]


def test_micropython_1_22_is_enough() -> None:
    assert plan(replace(NEW, micropython=(1, 22, 0), mpy=6 | 2 << 8)).image.format == "mpy 6.2"
