"""Accuracy of zero and tare: a good scale keeps a quarter of e; a zero that jumps, or a wrong piece, does not."""

from pathlib import Path

import pytest

from scalewright.link.scale import Scale
from scalewright.procedures.calibration import Calibration
from scalewright.procedures.job import Job, Story
from scalewright.procedures.perform import perform_job
from scalewright.procedures.requests import Answer, PlaceLoad, Request, SetTare, Setting, SetZero
from scalewright.procedures.virtual_hand import VirtualHand
from scalewright.procedures.zero_and_tare import TareTest, ZeroSettingTest
from scalewright.records.journal import Journal
from tests.host.procedures.virtual_bench import HELD, URL, carried_out, coefficients, failing, loads

(TARE,) = loads(1000)
TARED = TareTest(TARE, loads(500, 2000))


class Knock(VirtualHand):
    """Knocks the scale just after zero or tare was set: small weights that are on already are asked for again."""

    _last: Setting | None = None

    def act(self, setting: Setting) -> None:
        if isinstance(setting, PlaceLoad) and setting.added_g and setting == self._last:
            self._scale.ask("VIRTual:CELL zero_balance_mv_per_v,0.02016")  # 2 mV/V make 5 kg: 0.4 g more than before
        self._last = setting
        super().act(setting)


def test_a_good_scale_sets_zero_well_within_a_quarter_of_e() -> None:
    run = carried_out(ZeroSettingTest())
    (outcome,) = run.outcomes
    assert outcome.passes and outcome.limit == 0.25  # OIML R 76-1:2006, 4.5.2, from memory; e = 1 g
    requests = [request for request, _ in run.answered]
    below = requests[requests.index(SetZero()) - 2]
    assert isinstance(below, PlaceLoad) and not below.load_g  # a step below a changeover point, by small weights alone
    assert 0.3 <= below.added_g <= 0.5


def test_a_zero_that_jumps_once_it_was_set_fails() -> None:
    run = carried_out(ZeroSettingTest(), hand=Knock)
    assert failing(run) == ["error of zero"]
    assert 0.25 < run.outcomes[0].value <= 0.4


def test_net_loads_on_a_tare_are_within_the_limits_of_such_a_load() -> None:
    run = carried_out(TARED)
    assert failing(run) == []
    # OIML R 76-1:2006, 3.5.3.3: limits go by the net load; table 6, class III: 500 e and 2000 e
    assert [float(outcome.limit) for outcome in run.outcomes] == [0.25, 0.5, 1]
    requests = [request for request, _ in run.answered]
    assert requests.count(SetTare()) == 1
    pieces = [request.pieces for request in requests[requests.index(SetTare()) :] if isinstance(request, PlaceLoad)]
    assert list(dict.fromkeys(pieces)) == [(), ("1000", "500"), ("1000", "2000")]  # the tare stays on


def test_a_tare_that_jumps_once_it_was_set_fails_alone() -> None:
    assert failing(carried_out(TARED, hand=Knock)) == ["error of tare setting"]  # net loads are corrected for it


def test_a_wrong_piece_fails_the_net_load_that_it_makes() -> None:
    run = carried_out(TARED, "VIRTual:MASS 2000,-1.4")
    assert failing(run) == ["net error at 2000 g, up"]


def test_a_tare_that_is_not_what_it_says_does_not_matter() -> None:
    assert failing(carried_out(TARED, "VIRTual:MASS 1000,4.3")) == []


class BrokenOff(Exception):
    """The program is gone."""


@pytest.mark.parametrize("loses_power", [True, False])
def test_a_tare_that_the_scale_has_forgotten_is_set_again(tmp_path: Path, loses_power: bool) -> None:
    """However long the scale has been on again since: its clock alone does not tell."""
    with Scale.open(URL) as scale, Journal(tmp_path / "records.sqlite") as journal:
        scale.store_coefficients(coefficients())
        job = Job.begin(journal, Calibration(HELD, as_found=(TARED,)), scale.identity)

        def keep(request: Request, answer: Answer, accepted: str) -> None:
            job.keep(request, answer, accepted)
            if isinstance(request, PlaceLoad) and request.load_g == 1500:
                raise BrokenOff

        with pytest.raises(BrokenOff):
            perform_job(job, scale, VirtualHand(scale), keep)
        last_ms = scale.read().time_ms
        if loses_power:
            scale.ask("VIRTual:POWer:CYCLe 5")
            scale.reconnect()
            while scale.read().time_ms <= last_ms:
                pass
        job = Job.resume(journal, job.name)
        perform_job(job, scale, VirtualHand(scale), job.keep, is_resumed=True)
        story = Story.of(journal.entries(job=job.name), job.name)
    assert failing(job.run) == [] and len(job.run.outcomes) == 3
    assert [reason for _, reason in story.withdrawn] == (["the scale has forgotten zero and tare"] * loses_power)
