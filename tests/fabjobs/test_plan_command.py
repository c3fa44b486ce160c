"""`manage.py plan` as a shell sees it: what it prints where, and how it exits."""

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from django.core.management import execute_from_command_line

Faults = Callable[..., list[str]]
PlanHere = Callable[..., bytes]
HOUSE = Path(__file__).parents[2]


def run_plan(
    *arguments: str, given: bytes | None = None, data: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    environment = {**os.environ, "FABJOBS_DATA": str(data or "/nonexistent/data"), "PYTHONWARNINGS": "error"}
    return subprocess.run(
        [sys.executable, "manage.py", "plan", *arguments],
        cwd=HOUSE, env=environment, input=given, capture_output=True, check=False, timeout=300,
    )  # fmt: skip


@pytest.fixture
def plan_here(monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]) -> PlanHere:
    """What it prints in this process: one that begins anew for each sheet spends all its time on loading."""

    def of(*arguments: str, given: bytes) -> bytes:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given)))
        execute_from_command_line(["manage.py", "plan", *arguments])
        out, errors = capsysbinary.readouterr()
        assert errors == b""
        return out

    return of


@pytest.fixture
def faults(monkeypatch: pytest.MonkeyPatch, capsysbinary: pytest.CaptureFixture[bytes]) -> Faults:
    """The fault lines of a sheet on standard input, or of a file; nothing else may be printed. In this process too."""

    def of(given: bytes, name: str = "-") -> list[str]:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(given)))
        with pytest.raises(SystemExit) as end:
            execute_from_command_line(["manage.py", "plan", name])
        assert end.value.code == 2
        out, errors = capsysbinary.readouterr()
        assert out == b""
        lines = errors.decode().splitlines()
        assert lines
        assert all(line.startswith("sheet") for line in lines), lines
        return lines

    return of


def test_prints_the_plan_of_a_file_and_touches_no_database(tmp_path: Path, sheet: dict[str, Any]) -> None:
    file = tmp_path / "tray.json"
    file.write_text(json.dumps(sheet))
    done = run_plan(str(file), data=tmp_path / "data")
    assert (done.returncode, done.stderr) == (0, b"")
    plan = json.loads(done.stdout)
    assert plan["format"] == "fabjobs-plan/1"
    assert plan["sheet"]["title"] == "Coolant tray"
    assert [blank["name"] for blank in plan["blanks"]] == ["A", "B", "C", "D"]
    assert not (tmp_path / "data").exists()


def test_one_sheet_gives_one_plan_byte_for_byte(plan_here: PlanHere, sheet: dict[str, Any]) -> None:
    """In whichever process: no two have the same hashes of words."""
    given = json.dumps(sheet).encode()
    first = run_plan("-", given=given)
    assert first.returncode == 0
    assert first.stdout == plan_here("-", given=b"\xef\xbb\xbf" + given)  # a byte order mark changes nothing


def test_every_fault_has_a_line_that_names_its_field(sheet: dict[str, Any]) -> None:
    sheet["shape"]["depth"] = -5
    sheet["material"]["thickness"] = "1.5"
    sheet["quantity"] = 0
    done = run_plan("-", given=json.dumps(sheet).encode())
    assert (done.returncode, done.stdout) == (2, b"")
    lines = done.stderr.decode().splitlines()
    assert all(line.startswith("sheet.") for line in lines), lines
    assert "sheet.shape.depth: must be more than 0 mm (got -5)" in lines
    assert any(line.startswith("sheet.material.thickness: ") for line in lines)
    assert any(line.startswith("sheet.quantity: ") for line in lines)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (b"", "not JSON (line 1, column 1)"),
        (b'{"title": }', "not JSON (line 1, column 11)"),
        (b'{"a": 1}\nx', "not JSON (line 2, column 1)"),
        (b'{"title": "\xff"}', "UTF-8 text (byte 12 is not)"),
        (b"\xff\xfe{\x00}\x00", "UTF-8 text (byte 1 is not)"),
        (b'{"quantity": NaN}', "finite (got NaN)"),
        (b'{"quantity": -Infinity}', "finite (got -Infinity)"),
        (b'{"shape": 1, "shape": 2}', 'the key "shape" is given twice'),
        (b"[" * 200_000, "nested too deep"),
        (b'{"a":' * 900 + b"1" + b"}" * 900, "sheet"),
        (b'{"quantity": ' + b"9" * 5000 + b"}", "far too many digits"),
        (b"[" + b"1," * 3_000_000 + b"1]", "smaller than 5 MB"),
        (b"[]", "sheet"),
        (b"null", "sheet"),
        (b'"\\ud800"', "sheet"),
        (b'{"\\ud800\\n": 1, "shape": {}, "material": {}}', "\\ud800\\n"),
    ],
    ids=[
        "empty", "not JSON", "not JSON, line 2", "not UTF-8", "UTF-16", "NaN", "Infinity", "twice", "deep list", "deep object",
        "digits", "large", "list", "null", "half a character", "half a character as a key",
    ],
)  # fmt: skip
def test_whatever_the_file_holds_the_answer_is_in_words(faults: Faults, given: bytes, words: str) -> None:
    assert any(words in line for line in faults(given))


def test_a_number_beyond_every_bound_is_a_fault(faults: Faults, sheet: dict[str, Any]) -> None:
    sheet["shape"]["depth"] = "@"
    given = json.dumps(sheet).replace('"@"', "1e999").encode()
    assert any(line.startswith("sheet.shape.depth: ") for line in faults(given))


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    done = run_plan(str(tmp_path / "no\nsuch.json"))
    assert done.returncode == 2
    assert len(done.stderr.decode().splitlines()) == 1
    assert done.stderr.decode().startswith("sheet: cannot read ")


def test_a_folder_is_no_sheet(faults: Faults, tmp_path: Path) -> None:
    assert faults(b"", str(tmp_path))[0].startswith("sheet: cannot read ")


def test_papers_are_written_into_a_new_folder_the_same_bytes_each_time(
    plan_here: PlanHere, tmp_path: Path, sheet: dict[str, Any]
) -> None:
    done = run_plan("-", "--out", str(tmp_path / "new" / "papers"), given=json.dumps(sheet).encode())
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["format"] == "fabjobs-plan/1"
    papers = {path.name: path.read_bytes() for path in (tmp_path / "new" / "papers").iterdir()}
    assert plan_here("-", "--out", str(tmp_path / "again"), given=json.dumps(sheet).encode()) == done.stdout
    assert papers == {path.name: path.read_bytes() for path in (tmp_path / "again").iterdir()}
    pdfs = {"traveller.pdf", "traveller-shop.pdf", "templates.pdf"}
    assert {*pdfs, "takeoff.csv", "patterns.dxf"} <= papers.keys()
    assert all(papers[name].startswith(b"%PDF-") for name in pdfs)
    # one SVG a drawing: the tray three times, its runs and those round its rim, each of four blanks as it is marked out
    # and at true size, the sheet
    names = {*"ABCD"}
    assert {name for name in papers if name.endswith(".svg")} == {
        *("drawing-tray.svg", "drawing-from-above.svg", "drawing-welds.svg", "drawing-sheet-1.svg"),
        *("drawing-runs.svg", "drawing-runs-rim.svg"),
        *(f"drawing-blank-{name}.svg" for name in names),
        *(f"pattern-{name}.svg" for name in names),
    }
    assert all(ElementTree.fromstring(papers[name]) is not None for name in papers if name.endswith(".svg"))  # noqa: S314
    rows = list(csv.reader(io.StringIO(papers["takeoff.csv"].decode("utf-8-sig"), newline="")))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert rows[0][:4] == ["Group", "Item", "Quantity", "Unit"]


def test_a_folder_that_cannot_be_written_is_told_in_one_line(tmp_path: Path, sheet: dict[str, Any]) -> None:
    (tmp_path / "taken").write_text("a file where the folder should be")
    done = run_plan("-", "--out", str(tmp_path / "taken"), given=json.dumps(sheet).encode())
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert done.stdout == b""


def test_a_reader_that_stops_early_is_no_fault(sheet: dict[str, Any]) -> None:
    command = f'{sys.executable} manage.py plan - | head -c 10 >/dev/null; exit "${{PIPESTATUS[0]}}"'
    done = subprocess.run(
        ["bash", "-c", command],
        cwd=HOUSE,
        input=json.dumps(sheet).encode(),
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_planning_loads_no_typesetter(sheet: dict[str, Any]) -> None:
    code = (
        "import sys, django; from django.core.management import call_command, execute_from_command_line;"
        "execute_from_command_line(['manage.py', 'plan', '-']); print('weasyprint' in sys.modules, file=sys.stderr)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "fabjobs.settings"}
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=HOUSE, env=environment, input=json.dumps(sheet).encode(), capture_output=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.stderr.strip() == b"False"
