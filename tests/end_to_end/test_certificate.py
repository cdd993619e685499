"""From raw counts on a virtual cell to the printed digit: three jobs of an invented scenario, and what proves them."""

import csv
import io
import json
import shlex
import struct
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import ROUND_FLOOR, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, getcontext
from fractions import Fraction
from pathlib import Path
from statistics import variance
from typing import Any

import pytest
from pypdf import PdfReader
from scipy import stats

from scalewright.certificates import dcc, html, pdf, spreadsheet
from scalewright.certificates.evidence import certificate_of
from scalewright.certificates.label import label_of
from scalewright.certificates.sheet import sheet
from scalewright.command_line.main import run
from scalewright.errors import RecordError
from scalewright.records.journal import Journal
from scalewright.records.registers import put
from tests.host.certificates import bench

CASES = list(bench.BENCHES)
DETAILS = """
[certificate]
authorised_by = "TS"
place = "Estuary Bench, room 1"
rule = "guarded"
[laboratory]
name = "Estuary Bench (invented)"
[customer]
name = "Reed Island Canteen (invented)"
"""


# An independent calculation: the JSON of the journal, fractions and decimals, none of the project's arithmetic.


class Curve:
    """A coefficient record, taken apart as shared_calc/coefficient_record.py lays it out; exact, not as the device."""

    def __init__(self, data: bytes) -> None:
        fields = struct.unpack("<2sBBBBBbiI4i", data[: struct.calcsize("<2sBBBBBbiI4i")])
        _, _, degree, self.shift, exponent, mantissa, power, self.centre, _, *coefficients = fields
        self.coefficients = coefficients[: degree + 1]
        self.division_g = mantissa * Fraction(10) ** power
        self.unit_g = self.division_g / 2**exponent

    def indication_g(self, counts: Fraction) -> Fraction:
        t = (counts - self.centre) * 2**self.shift / Fraction(2**23)
        powers = range(len(self.coefficients) - 1, -1, -1)
        return self.unit_g * sum(c * t**n for c, n in zip(self.coefficients, powers, strict=True))

    @property
    def step_g(self) -> Fraction:
        """How much a count is, in the middle of the curve."""
        return abs(self.unit_g * self.coefficients[-2] * 2**self.shift / 2**23)


def raw(path: Path, job: str) -> tuple[list[tuple[dict[str, Any], Fraction]], bytes]:
    """Return the loads of the last test with their mean raw counts, and the coefficients it was done with."""
    with Journal(path, read_only=True) as journal:
        bodies = [json.loads(entry.body_json) for entry in journal.entries(job, "job.answer")]
    loads, coefficients = [], b""
    for body in bodies:
        request = body["request"]
        match request["is"]:
            case "StoreCoefficients" | "ReadCoefficients":
                loads, coefficients = [], bytes.fromhex(body["answer"])
            case "PlaceLoad":
                placed = request
            case "TakeStillReading":
                mean = Fraction(body["answer"]["counts_sum"], body["answer"]["readings"])
                loads.append((placed, Fraction(round(mean))))  # the curve is of whole counts
    return loads, coefficients


def two_digits(u: Decimal) -> Decimal:
    """JCGM 100:2008, 7.2.6, as certificates/rounding.py states it: nearest, but never more than 1 % down."""
    place = Decimal(1).scaleb(u.adjusted() - 1)
    nearest = u.quantize(place, ROUND_HALF_UP)
    nearest = nearest + place if u - nearest > u / 100 else nearest
    return nearest if nearest < 100 * place else nearest.quantize(place.scaleb(1))


def coverage_factor(freedom: Decimal) -> Decimal:
    """JCGM 100:2008, G.3 and G.4.1: Student's t for 95.45 % (k = 2 of a normal distribution), by scipy."""
    whole = int(freedom.to_integral_value(ROUND_FLOOR))
    return Decimal(float(stats.t.ppf(stats.norm.cdf(2), whole)))


def decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / value.denominator


@dataclass
class Readings:
    """What the scale showed in the last test, exact, in g."""

    requests: list[dict[str, Any]]
    errors_g: list[Fraction]
    series_g: list[Decimal]
    """of the load that was put on again and again, zero taken off"""
    off_centre_g: list[Decimal]
    """the middle first, zero taken off"""
    curve: Curve

    @classmethod
    def of(cls, name: str) -> "Readings":
        done, at = bench.finished(name), bench.BENCHES[name]
        taken, coefficients = raw(done.path, done.job)
        curve = Curve(coefficients)
        shown = [curve.indication_g(counts) for _, counts in taken]
        n = 2 * len(at.loads) + 1
        requests = [request for request, _ in taken[:n]]
        marks = [Fraction(Decimal(request["load_g"])) for request in requests]
        errors = [each - shown[0] - mark for each, mark in zip(shown[:n], marks, strict=True)]
        end = n + 2 * bench.TIMES * bool(at.repeated)
        series = [decimal(loaded - empty) for empty, loaded in zip(shown[n:end:2], shown[n + 1 : end : 2], strict=True)]
        zero, *places = shown[end : end + 6] if at.off_centre else [Fraction(0)]
        return cls(requests, errors, series, [decimal(each - zero) for each in places], curve)

    def s2_and_freedom(self) -> tuple[Decimal, int]:
        """Variance of one indication: of the series, or of pairs rising and falling."""
        if self.series_g:
            return variance(self.series_g), len(self.series_g) - 1
        loads = [request["load_g"] for request in self.requests]
        half = len(loads) // 2
        pairs = [self.errors_g[k] - self.errors_g[-1 - k] for k in range(half)]
        return decimal(sum(d * d for d in pairs) / (2 * half)), half

    def u_relative(self) -> Decimal:
        """|I_i - I_middle| at most, over 2 L sqrt 3."""
        if not self.off_centre_g:
            return Decimal(0)
        middle, *others = self.off_centre_g
        return max(abs(other - middle) for other in others) / (2 * Decimal(1000) * Decimal(3).sqrt())


def expected_rows(name: str) -> list[tuple[Decimal, Decimal, Decimal, str]]:
    """Return load, error and U of every row, in g, and k, by EURAMET cg-18 v4.0, 7.1 (formulas from memory)."""
    getcontext().prec = 40
    pieces = {piece.name: piece for piece in bench.BENCHES[name].masses.pieces}
    read, was_adjusted = Readings.of(name), bool(bench.finished(name).certificate.adjustment)
    s2, freedom = read.s2_and_freedom()
    resolution = decimal(max(read.curve.step_g, read.curve.unit_g))
    rows = []
    for request, error in zip(read.requests, read.errors_g, strict=True):
        used, m = [pieces[piece] for piece in request["pieces"]], Decimal(request["load_g"])
        u_mass = sum((piece.expanded_u_g / 2 for piece in used if piece.expanded_u_g), Decimal(0))
        mpe = sum((decimal(piece.class_error_g) for piece in used if piece.class_error_g), Decimal(0))
        # Adjusted immediately before: mpe / (4 sqrt 3); otherwise (0.1 rho_0 m / rho_c + mpe / 4) / sqrt 3.
        air = mpe / 4 + (0 if was_adjusted else Decimal("0.1") * Decimal("1.2") * m / 8000)
        off_centre = read.u_relative() * (m + decimal(error))
        u2 = 2 * resolution**2 / 12 + s2 + u_mass**2 + air**2 / 3 + off_centre**2
        k = coverage_factor(u2**2 * freedom / s2**2)
        rows.append((sum((p.nominal_g for p in used), Decimal(0)), decimal(error), k * u2.sqrt(), f"{k:.2f}"))
    return rows


@pytest.mark.parametrize("name", CASES)
def test_every_printed_digit_follows_from_the_raw_observations(name: str) -> None:
    certificate = bench.finished(name).certificate
    table = sheet(certificate).results[-1]
    grams = {"kg": Decimal(1000), "g": Decimal(1), "mg": Decimal("0.001")}
    load_unit, error_unit = (grams[table.headings[column].split("\xa0")[-1]] for column in (0, 3))
    for cells, (load_g, error_g, expanded_u_g, k) in zip(table.rows, expected_rows(name), strict=True):
        u = two_digits(expanded_u_g / error_unit)
        error = (error_g / error_unit).quantize(u, ROUND_HALF_EVEN)
        assert Decimal(cells[0]) == load_g / load_unit
        assert cells[3].replace("\N{MINUS SIGN}", "-") == (f"{error:+f}" if error else f"{abs(error):f}")
        assert cells[4] == f"{u:f}"
        assert cells[5] == k


@pytest.mark.parametrize("name", CASES)
def test_conformity_follows_from_the_printed_limits_by_the_stated_rule(name: str) -> None:
    # JCGM 106:2012, 8.3.2: guarded acceptance with w = U; ILAC-G8:09/2019, 4.2.1 to 4.2.3.
    rule = bench.BENCHES[name].rule
    for point in bench.finished(name).certificate.final.points:
        assert point.limit_g is not None
        error, limit = abs(point.error_g), point.limit_g
        w = 0 if rule == "simple" else Fraction(point.expanded_u_g)
        expected = "accept" if error <= limit - w else "reject"
        if rule == "conditional" and limit - w < error <= limit + w:
            expected = "conditional accept" if error <= limit else "conditional reject"
        assert point.outcome == expected


def test_made_again_after_more_has_happened_every_form_is_the_same_to_the_byte(tmp_path: Path) -> None:
    done = bench.copy_of("kitchen", tmp_path)
    forms = [pdf.render, dcc.render, html.render, spreadsheet.as_json, spreadsheet.results_csv, label_of]
    before = [form(done.certificate) for form in forms]
    at = bench.KITCHEN
    with Journal(done.path) as journal:
        put(journal, replace(at.scale, place="moved to the cellar"), "KM", "it was in the way")
        put(journal, replace(at.masses, serial_number="another"), "KM", "relabelled")
        again = certificate_of(journal, done.job)
    assert again == done.certificate
    assert [form(again) for form in forms] == before


def rewritten(done: bench.Finished, folder: Path) -> Path:
    """Return other records: the last reading made less, and all links from there on made anew."""
    path = folder / "rewritten.sqlite"
    with Journal(done.path, read_only=True) as journal, Journal(path) as other:
        entries = list(journal.entries())
        last = max(entry.seq for entry in entries if entry.kind == "job.answer" and "counts_sum" in entry.body_json)
        for entry in entries:
            body = dict(entry.body)
            if entry.seq == last:
                body["answer"] = {**body["answer"], "counts_sum": body["answer"]["counts_sum"] - 4000}  # type: ignore[dict-item, index]
            other.append(entry.kind, entry.job, body, datetime.fromisoformat(entry.at))
    return path


def test_the_hash_on_a_certificate_proves_a_rewritten_tail_wrong(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    done = bench.copy_of("kitchen", tmp_path)
    printed = "".join(PdfReader(io.BytesIO(pdf.render(done.certificate))).pages[-1].extract_text().split())
    assert done.certificate.proof.head in printed
    forged = rewritten(done, tmp_path)
    with Journal(forged, read_only=True) as journal:
        assert journal.verify().holds  # by itself it cannot be told from a true one
        assert certificate_of(journal, done.job).proof.head != done.certificate.proof.head
    program, *words = shlex.split(done.certificate.proof.command)  # what is printed, as somebody would type it
    monkeypatch.chdir(tmp_path)
    assert program == "scalewright"
    assert run(words) == 0
    forged.replace(done.path.name)
    assert run(words) == 1
    assert "the end of the chain was rewritten or cut off" in capsys.readouterr().out


def test_an_answer_that_was_changed_in_the_file_makes_no_certificate(tmp_path: Path) -> None:
    done = bench.copy_of("balance", tmp_path)
    data = done.path.read_bytes()
    at = data.index(b'"counts_sum":') + len(b'"counts_sum":')
    done.path.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])
    with Journal(done.path, read_only=True) as journal, pytest.raises(RecordError, match=r"entry \d+ was changed"):
        certificate_of(journal, done.job)


@pytest.mark.parametrize("kind", ["pdf", "html", "csv", "json", "xml"])
def test_the_command_writes_each_form(kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done = bench.finished("platform")
    out = tmp_path / f"certificate.{kind}"
    assert run(["certificate", done.job, "--records", str(done.path), "--out", str(out), "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert (facts["conforms"], facts["records_head"]) == (True, done.certificate.proof.head)
    forms = {"pdf": pdf.render, "xml": dcc.render, "html": html.render, "csv": spreadsheet.results_csv}
    expected = forms.get(kind, spreadsheet.as_json)(done.certificate)
    assert out.read_bytes() == (expected if isinstance(expected, bytes) else expected.encode())


def test_the_raw_readings_can_be_had_and_are_those_of_the_journal(tmp_path: Path) -> None:
    done, out = bench.finished("kitchen"), tmp_path / "raw.csv"
    assert run(["certificate", done.job, "--records", str(done.path), "--raw", str(out)]) == 0
    with open(out, encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    with Journal(done.path, read_only=True) as journal:
        answers = [json.loads(entry.body_json)["answer"] for entry in journal.entries(done.job, "job.answer")]
    kept = [answer for answer in answers if isinstance(answer, dict) and "counts_sum" in answer]
    assert [int(row["counts_sum"]) for row in rows] == [answer["counts_sum"] for answer in kept]
    read_c = sorted(Decimal(row["temperature_c"]) for row in rows)
    stated = done.certificate.conditions[0]
    assert (stated.low, stated.high) == (round(read_c[0], 1), round(read_c[-1], 1))
    assert stated.low < stated.high
    assert [row["temperature_c"] for row in rows] == [answer["temperature_c"] for answer in kept]
    assert {row["pieces"] for row in rows} >= {"", "500", "1000 + 500", "2000 + 1000"}
    assert {row["at"] for row in rows} == {"middle", "front left", "back left", "back right", "front right"}


def test_the_command_issues_once_then_only_an_amendment(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    details, records, out = tmp_path / "details.toml", tmp_path / "records.sqlite", tmp_path / "c.json"
    details.write_text(DETAILS, encoding="utf-8")
    with Journal(records) as journal:
        job = bench.carry_out(bench.PLATFORM, journal)
    words = ["certificate", job, "--records", str(records), "--out", str(out)]
    assert run(words) == 2
    assert "give --details FILE to issue one" in capsys.readouterr().err
    assert run([*words, "--details", str(details)]) == 1  # under this rule it is outside: an answer, not an error
    number = json.loads(out.read_text(encoding="utf-8"))["number"]
    assert run([*words, "--details", str(details)]) == 3
    assert f"has certificate {number} (give --replaces {number}" in capsys.readouterr().err
    amended = ["--details", str(details), "--replaces", number, "--because", "the customer has moved"]
    assert run([*words, *amended]) == 1
    facts = json.loads(out.read_text(encoding="utf-8"))
    assert (facts["replaces"], facts["replaced_because"]) == (number, "the customer has moved")
    assert run(["records", "verify", str(records), "--head", facts["proof"]["head"]]) == 0


def test_labels_are_written_for_scales_and_for_jobs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    done, out = bench.finished("kitchen"), tmp_path / "labels.pdf"
    words = ["label", "--records", str(done.path), "--out", str(out), "--due", "2027-03-02", "--json"]
    assert run([*words, "--scale", "PLOVER"]) == 0
    (label,) = json.loads(capsys.readouterr().out)["labels"]
    crc = done.certificate.scale.coefficients_crc
    assert (label["scale"], label["due"], label["coefficients_crc"]) == ("PLOVER", "2027-03-02", crc)
    assert done.certificate.proof.head.startswith(label["hash"])
    by_scale = out.read_bytes()
    assert run([*words, "--job", done.job]) == 0
    assert out.read_bytes() == by_scale
    assert run([*words, "--scale", "NOBODY"]) == 2


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["--out", "c.docx"], "expected a name that ends in pdf, html, csv, json, xml, or --format"),
        (["--format", "pdf"], "expected --out FILE too"),
        (["--replaces", "1"], "expected --details FILE too"),
        (["--out", "nowhere/c.json"], "nowhere/c.json: cannot be written"),
    ],
)
def test_options_that_cannot_be_used_get_one_clear_line(
    words: list[str], problem: str, capsys: pytest.CaptureFixture[str]
) -> None:
    done = bench.finished("platform")
    assert run(["certificate", done.job, "--records", str(done.path), *words]) in (2, 3)
    assert problem in capsys.readouterr().err
