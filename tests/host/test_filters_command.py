"""`scalewright filters` on generated loads and on a recording."""

import json

import pytest

from scalewright.command_line.main import run

NAMES = ["device, 32", "moving mean, 63", "exponential mean, 32", "running median, 99", "none"]


def test_generated_loads_as_json(capsys) -> None:
    assert run(["filters", "--generated", "--division", "160", "--loads", "20", "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert [one["name"] for one in result["filters"]] == NAMES
    assert result["division_counts"] == 160 and set(result["loads"].values()) == {20}
    device = result["filters"][0]
    step = device["settled_to_noise"]["step of 1000 sigma"]
    assert step["ratio"] == step["readings"] / step["ideal_readings"]
    assert 7 < device["noise_reduction"] < 9
    assert device["fixed_weights_readings"] == round(device["noise_reduction"] ** 2)
    assert device["spike"] < result["filters"][1]["spike"] < 1
    assert 0 <= device["false_at_rest"] <= device["at_rest"] <= 1


def test_a_recording_in_words(tmp_path, capsys) -> None:
    file = tmp_path / "r.csv"
    levels = [(1_000_000 + 50_000 * (n // 200 % 2) + n % 7, n // 200 % 2 * 10) for n in range(2000)]
    file.write_text(
        "time_s,counts,temperature_c,load_g\n" + "".join(f"{k},{c},,{g}\n" for k, (c, g) in enumerate(levels))
    )
    assert run(["filters", str(file), "--division", "5000", "--longest", "16"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "device, 16" in lines[0] and "moving mean, 31" in lines[0]
    # A twentieth of the step is half a division: 31 (1 - 1/20) = 29.5; log(1/20) / log(15/16) = 46.4; half of 49.
    (row,) = [line.split() for line in lines if line.startswith("recorded, to d/2")]
    assert row[3:] == ["2", "30", "47", "25", "1"]


@pytest.mark.parametrize(
    "words",
    [
        ["absent.csv", "--division", "100"],
        ["--generated", "--division", "0"],
        ["--generated", "--division", "100", "--noise", "nan"],
        ["--generated", "--division", "100", "--longest", "33"],
        ["--generated", "--division", "100", "--loads", "0"],
    ],
)
def test_bad_input_is_one_line(words, capsys) -> None:
    assert run(["filters", *words]) == 2
    said = capsys.readouterr()
    assert said.out == "" and said.err.count("\n") == 1
