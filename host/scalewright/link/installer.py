"""Installs the firmware on a board beside the version that runs there, and goes back to that one.

1. What runs is asked who it is, then interrupted. 2. Board, MicroPython and free space are checked. 3. The new version
goes to the folder that is not in use, is compared by SHA-256 and loaded once. 4. One small file, written last, puts it
into use. 5. The board restarts and must answer with the new version, the same serial number and the same coefficients;
else the old version is put back. Until step 4 the old version is what the next start runs. The coefficients, and every
other file in the board's root but main.py, are only read, and compared at the end.
"""

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace

from scalewright.errors import LinkError, ScalewrightError
from scalewright.link.board_shell import BoardShell, Say
from scalewright.link.board_state import INSPECT, BoardState, inspect
from scalewright.link.firmware_files import Firmware
from scalewright.link.install_plan import Plan, plan_for
from scalewright.link.install_steps import START, Switch, switch_back, switch_to, writing
from scalewright.link.scale import Identity, Scale

GREETING_TIMEOUT_S = 0.5  # for each of a few tries
RESTART_TIMEOUT_S = 20.0
START_TIMEOUT_S = 3.0


@dataclass(frozen=True)
class Installation:
    """What was done, and what the board answers since."""

    identity: Identity
    state: BoardState
    """The board as it was found."""
    plan: Plan | None
    """None where the version before was put back."""
    folder: str
    """The one in use now."""

    @property
    def version_before(self) -> str | None:
        """What was in use before, None where nothing was."""
        in_use = self.state.in_use()
        return in_use.version if in_use else None


def preview(port: str, board: str | None, firmware: Firmware) -> tuple[BoardState, Plan]:
    """Return what an installation would do; nothing is written, and what ran is started again."""
    with _interrupted(port) as (shell, _):
        state = inspect(shell)
        plan = plan_for(state, board, firmware, port)
        shell.restart()
    return state, plan


def install(
    port: str, board: str | None, firmware: Firmware, say: Say, restart_timeout_s: float = RESTART_TIMEOUT_S
) -> Installation:
    """Install the firmware and return what the board answers. board: None for the one in use, or the one that fits.

    Raises InputError, LinkError or ScalewrightError; then the board runs what it ran before, where that is possible.
    """
    with _interrupted(port) as (shell, before):
        state = inspect(shell)
        plan = plan_for(state, board, firmware, port)
        _describe(state, plan, port, say)
        if not plan.is_in_use:
            _write(shell, state.here, plan, say)
        _carry_out(shell, switch_to(plan, state, firmware.imports_of_main()))
        say("the files are right, the board can load them: restarting")
        shell.restart()
    identity = _prove(port, state, plan.folder, plan.version, before, restart_timeout_s)
    return Installation(identity, state, plan, plan.folder)


def go_back(port: str, say: Say, restart_timeout_s: float = RESTART_TIMEOUT_S) -> Installation:
    """Put the version before into use again and return what the board answers. Raises as `install` does."""
    with _interrupted(port) as (shell, before):
        state = inspect(shell)
        folder = state.spare()
        marker = state.installed().get(folder)
        if marker is None or not state.holds(folder, marker.digest):
            raise ScalewrightError(
                f"{port}: expected a whole version before this one; seen: {'a damaged one' if marker else 'none'}",
                "install the version you want",
            )
        say(f"going back to version {marker.version}")
        _carry_out(shell, switch_back(state, folder))
        shell.restart()
    identity = _prove(port, state, folder, marker.version, before, restart_timeout_s)
    return Installation(identity, state, None, folder)


@contextmanager
def _interrupted(port: str) -> Iterator[tuple[BoardShell, Identity | None]]:
    """A board at its prompt, and who answered there before; where something goes wrong, that is started again."""
    shell = BoardShell(port)
    shell.await_port()
    before = _identity_at(port)
    shell.interrupt()
    try:
        yield shell, before
    except BaseException:
        with suppress(ScalewrightError):
            shell.restart()
        raise


def _identity_at(port: str) -> Identity | None:
    """Return who answers now; None where nobody does, as on a new board."""
    try:
        with Scale.open(port, GREETING_TIMEOUT_S) as scale:
            return scale.identity
    except ScalewrightError:
        return None


def _describe(state: BoardState, plan: Plan, port: str, say: Say) -> None:
    micropython = ".".join(map(str, state.micropython))
    free = state.free_blocks * state.block_bytes // 1024
    in_use = state.in_use()
    running = f"runs version {in_use.version}" if in_use else "no version of ours on it"
    say(f"{port}: {state.machine}, MicroPython {micropython}, {free} kB free, {running}")
    for note in plan.image.notes:
        say(note)
    if plan.is_in_use:
        say(f"{plan.version} for {plan.board} is in use already: nothing to copy")
    else:
        say(f"{plan.version} for {plan.board}, {plan.image.format}: {len(plan.to_copy)} files to {plan.folder}")


def _write(shell: BoardShell, here: str, plan: Plan, say: Say) -> None:
    """Write the version into its folder and compare it."""
    state = BoardState(**shell.perform(writing(here, plan), "all files to be copied", say=say)[-1])
    present = {path: sha256 for path, (_, sha256) in state.files_in(plan.folder).items()}
    wanted = {file.path: file.sha256 for file in plan.image.files}
    differing = sorted(path for path in wanted.keys() | present.keys() if wanted.get(path) != present.get(path))
    if differing:
        raise _damaged(shell, differing)


def _carry_out(shell: BoardShell, switch: Switch) -> None:
    """Put a version into use, and see that this, and nothing else, has changed the board."""
    after = shell.perform([*switch.steps, INSPECT], "the version to load and be put into use")[-1]
    differing = switch.differences(BoardState(**after))
    if differing:
        raise _damaged(shell, differing)


def _damaged(shell: BoardShell, names: Sequence[str]) -> ScalewrightError:
    return ScalewrightError(
        f"{shell.port}: expected on the board what was there or was copied; seen: {', '.join(names)} differs",
        "install again; if it stays so, the board's flash is worn or the line damages bytes",
    )


def _prove(
    port: str, state: BoardState, folder: str, version: str, before: Identity | None, timeout_s: float
) -> Identity:
    """Return what the board answers after its restart; where that is not right, put back what was and say why."""
    try:
        return _await_identity(port, version, before, timeout_s)
    except ScalewrightError as error:
        raise _return_to(port, state, folder, error) from error


def _await_identity(port: str, version: str, before: Identity | None, timeout_s: float) -> Identity:
    deadline = time.monotonic() + timeout_s
    identity = _identity_at(port)
    while identity is None and time.monotonic() < deadline:
        time.sleep(0.1)  # its port is not back yet
        identity = _identity_at(port)
    if identity is None:
        raise LinkError(f"no answer to *IDN? within {timeout_s:g} s of the restart", port=port)
    expected = _spell(replace(before or identity, firmware=version))
    if _spell(identity) != expected:
        raise LinkError(f"expected the answer {expected}; seen: {_spell(identity)}", port=port)
    return identity


def _spell(identity: Identity) -> str:
    """Return what an installation must not change, and the version."""
    return f"{identity.firmware}, serial number {identity.serial_number}, coefficients {identity.coefficients}"


def _return_to(port: str, state: BoardState, folder: str, error: ScalewrightError) -> ScalewrightError:
    """Put the version before into use again. Returns the error that says so."""
    current, in_use = state.current(), state.in_use()
    with _interrupted(port) as (shell, _):
        cause = _cause(shell, state.here + folder)
        if current is not None and current != folder:
            _carry_out(shell, switch_back(inspect(shell), current))
        shell.restart()
    if current is None or in_use is None or current == folder:
        return ScalewrightError(error.message + cause, "there is no version before this one to go back to")
    return ScalewrightError(error.message + cause, f"version {in_use.version} is in use again")


def _cause(shell: BoardShell, folder: str) -> str:
    """Return what the board prints when the version is started by hand, "" where it starts."""
    try:
        shell.evaluate(START.format(folder=folder), "it to start", START_TIMEOUT_S)
    except LinkError as error:
        return f"; {error.message}"
    return ""
