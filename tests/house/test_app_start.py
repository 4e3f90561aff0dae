"""The program without a window: the sample job, through the command line's own functions."""

import pytest

from patternsim import cli
from patternsim_app import main as app


@pytest.fixture
def commands(monkeypatch):
    """Return the command lines asked for; each succeeds unless its status is set."""

    class Commands(list):
        def __init__(self):
            self.status = {}

        def __call__(self, argv):
            self.append(argv)
            if argv[0] == "new":
                (self.folder / "feather-from-w.toml").write_text("format = 1\n")
            return self.status.get(argv[0], 0)

    commands = Commands()
    monkeypatch.setattr(cli, "main", commands)
    return commands


def test_the_sample_is_made_drawn_and_answered(commands, tmp_path, capsys):
    commands.folder = tmp_path
    assert app.show_sample(tmp_path) == 0
    job, picture = str(tmp_path / "feather-from-w.toml"), str(tmp_path / "feather-from-w.png")
    assert commands == [
        ["new", "feather-from-w", "-o", job],
        ["picture", job, "-o", picture, "--what", "mark-side"],
        ["answers", job],
    ]
    told = capsys.readouterr().out
    assert picture in told
    assert "no window" in told


def test_a_job_the_user_changed_is_used_as_it_is(commands, tmp_path):
    (tmp_path / "feather-from-w.toml").write_text("mine\n")
    app.show_sample(tmp_path)
    assert [argv[0] for argv in commands] == ["picture", "answers"]
    assert (tmp_path / "feather-from-w.toml").read_text() == "mine\n"


@pytest.mark.parametrize(("command", "status"), [("new", 2), ("picture", 3), ("answers", 1)])
def test_the_exit_status_is_the_command_lines(commands, tmp_path, command, status):
    commands.folder = tmp_path
    commands.status = {command: status}
    assert app.show_sample(tmp_path) == status
    assert commands[-1][0] == command


def test_a_command_line_that_exits_is_taken_at_its_word(monkeypatch, tmp_path):
    def leave(argv):
        raise SystemExit(3)

    monkeypatch.setattr(cli, "main", leave)
    assert app.show_sample(tmp_path) == 3


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
