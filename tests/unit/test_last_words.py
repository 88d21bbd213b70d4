"""What the command says last: a refusal of the system in one sentence, our own mistakes not."""

import errno
import io
import os
import subprocess
import sys
import traceback

import pytest
from typer.testing import CliRunner

from fieldmap import cli
from fieldmap.errors import SiteError


def run(monkeypatch, site, error):
    def fails(*_given):
        raise error

    monkeypatch.setattr(cli, "_read", fails)
    return CliRunner().invoke(cli.app, ["check", str(site)])


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EACCES])
def test_what_the_system_refuses_is_one_sentence(tmp_path, monkeypatch, number):
    error = OSError(number, os.strerror(number), "a.npz")
    done = run(monkeypatch, tmp_path, error)
    assert done.exit_code == 1
    assert done.stderr == (
        f"fieldmap: a.npz could not be read or written ({os.strerror(number)}); free some"
        " space, or allow fieldmap to use it\n"
    )


def test_too_little_memory_is_one_sentence(tmp_path, monkeypatch):
    done = run(monkeypatch, tmp_path, MemoryError())
    assert done.exit_code == 1
    assert done.stderr.startswith("fieldmap: there is not enough memory;")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("error", [ValueError("x"), OSError(errno.EBADF, "bad")])
def test_a_mistake_of_ours_keeps_its_traceback_and_says_how_to_report_it(
    tmp_path, monkeypatch, error
):
    done = run(monkeypatch, tmp_path, error)
    assert done.exception is error
    last = traceback.format_exception(error)[-1].strip()
    assert last.split("\n")[-1].startswith("fieldmap: this is a mistake in fieldmap")


def test_what_would_not_be_seen_is_written_by_its_number(monkeypatch, capsys):
    cli._echo(["beds \u202eevil\x1b[31m"])
    assert capsys.readouterr().out == "beds <U+202E>evil<U+001B>[31m\n"


def test_a_refusal_is_one_line_whatever_stands_in_it(tmp_path, monkeypatch):
    done = run(monkeypatch, tmp_path, SiteError("a\nb is missing"))
    assert done.stderr == "fieldmap: a b is missing\n"


def test_a_terminal_that_lacks_a_letter_shows_another(monkeypatch):
    shown = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(shown, encoding="cp1252"))
    monkeypatch.setattr(cli, "app", lambda: cli._echo(["\u010cebelnjak, 5 \xb0C"]))
    cli.main()
    assert shown.getvalue() == b"?ebelnjak, 5 \xb0C\n"


def test_what_was_loaded_is_not_looked_through_for_garbage_at_the_end():
    """The last round of the collector is the one that frozen objects are spared."""
    program = (
        "import gc\n"
        "from fieldmap import cli\n"
        "try: cli.main()\n"
        "finally: print(len(gc.get_objects()) < gc.get_freeze_count() / 100)"
    )
    call = [sys.executable, "-c", program, "--help"]
    done = subprocess.run(call, capture_output=True, text=True, check=True)
    assert done.stdout.endswith("True\n")


@pytest.mark.skipif(sys.platform != "linux", reason="names of files are bytes there")
@pytest.mark.parametrize("command", ["check", "plan"])
def test_a_folder_whose_name_is_no_text_is_one_sentence(tmp_path, command):
    folder = tmp_path / os.fsdecode(b"farm\xff")
    folder.mkdir()
    (folder / "site.toml").write_text('name = "Hill Farm"\n')
    done = CliRunner().invoke(cli.app, [command, str(folder)])
    assert done.exit_code == 1
    assert "farm<U+DCFF>" in done.stderr
    assert "letters that are not UTF-8" in done.stderr
