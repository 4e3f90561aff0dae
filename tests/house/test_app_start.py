"""The program without a window: the sample job worked out, drawn and answered."""

import pytest
from PIL import Image

from patternsim import cli
from patternsim_app import main as app


def test_the_sample_is_made_drawn_and_answered(tmp_path, capsys):
    assert app.show_sample(tmp_path) == cli.FINE
    with Image.open(tmp_path / "feather-from-w.png") as image:
        assert image.info["dpi"][0] == pytest.approx(300, abs=0.1)
    told = capsys.readouterr().out
    for word in ("Tip ", "Barbs ", "Steel ", "Press ", "Risk ", "No window"):
        assert word in told
    assert str(tmp_path / "feather-from-w.png") in told


def test_a_job_the_user_changed_is_used_as_it_is(tmp_path, capsys):
    from patternsim.job import starting_job

    mine = starting_job("feather-from-w").replace('name = "Feather from W"', 'name = "Mine"')
    (tmp_path / "feather-from-w.toml").write_text(mine)
    assert app.show_sample(tmp_path) == cli.FINE
    assert (tmp_path / "feather-from-w.toml").read_text() == mine
    assert "Mine" in capsys.readouterr().out


def test_a_job_the_user_spoiled_is_told_and_left_alone(tmp_path, capsys):
    (tmp_path / "feather-from-w.toml").write_text("mine\n")
    assert app.show_sample(tmp_path) == cli.BAD_FILE
    assert (tmp_path / "feather-from-w.toml").read_text() == "mine\n"
    assert "line 1" in capsys.readouterr().err
    assert not (tmp_path / "feather-from-w.png").exists()


def test_a_finding_to_stop_at_is_the_exit_status(tmp_path):
    from patternsim.job import starting_job

    text = starting_job("feather-from-w").replace("length_mm = 210.0", "length_mm = 290.0")
    (tmp_path / "feather-from-w.toml").write_text(text)
    assert app.show_sample(tmp_path) == cli.STOPPED


def test_results_go_to_documents(monkeypatch, tmp_path):
    monkeypatch.setattr(app.platformdirs, "user_documents_path", lambda: tmp_path / "Documents")
    assert app.results_folder() == tmp_path / "Documents" / "patternsim"
    assert app.results_folder().is_dir()


def test_without_documents_results_go_to_the_current_folder(monkeypatch, tmp_path):
    blocker = tmp_path / "Documents"
    blocker.write_text("a file, not a folder")
    monkeypatch.setattr(app.platformdirs, "user_documents_path", lambda: blocker)
    monkeypatch.chdir(tmp_path)
    assert app.results_folder() == tmp_path


def test_help_and_wrong_use(capsys):
    assert app.main(["--help"]) == 0
    assert "usage" in capsys.readouterr().out
    assert app.main(["--colour"]) == 2
    assert "--colour" in capsys.readouterr().err
