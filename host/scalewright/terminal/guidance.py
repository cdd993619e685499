"""What a person is to do now, in words: the same on the screens and in plain text."""

from scalewright.procedures.calibration import AS_FOUND
from scalewright.procedures.instructions import instruction
from scalewright.terminal.progress import ENDED, FAILED, Progress


def time_left(progress: Progress) -> str:
    """Return how long it will take, as one says it."""
    if progress.state in (ENDED, FAILED):
        return "ended"
    minutes = progress.remaining_s / 60
    return f"about {minutes:.0f} min left" if minutes >= 1.5 else "about a minute left"


def what_and_how(progress: Progress, *, is_virtual: bool) -> tuple[str, str]:
    """Return what is to be done or was found, and which key goes on from there."""
    request = progress.request
    match progress.state:
        case "hands" if is_virtual:
            return _words(progress), "Enter: the virtual hand does it.   A: it does all the rest, in quick time."
        case "hands":
            return _words(progress), "Press Enter when it is done."
        case "asked":
            return _words(progress), "Press Enter to answer."
        case "refused":
            how = "Put it right, then Enter takes it again." + ("  W accepts it." if progress.can_be_accepted else "")
            return progress.text, how
        case "paused":
            return "paused", "Enter goes on. You may leave the program too: it goes on from here another day."
        case "failed":
            return progress.text, "What was found is in the records. Enter: back to the form."
        case "ended":
            verdict = "PASS: the scale is within its limits" if progress.passed else "FAIL: beyond its limits"
            return verdict, "Everything is in the records.  Enter: back to the form.  2: weigh."
        case _:
            return (instruction(request) if request else "wait"), "It waits for stability by itself."


def title_of(progress: Progress, stage: str) -> str:
    """Return the title of a part. Where nothing is adjusted all is as found, so that need not be said."""
    return stage.removeprefix(f"{AS_FOUND}: ") if getattr(progress.plan, "adjustment", None) is None else stage


def _words(progress: Progress) -> str:
    return instruction(progress.request) if progress.request else ""
