import re
from pathlib import Path

import pytest
import typer.main

from stillwing.cli.app import app

DOCS = Path(__file__).parents[2] / "docs" / "commands.md"
GROUP = typer.main.get_command(app)
COMMANDS = {name: GROUP.get_command(None, name) for name in GROUP.list_commands(None)}


def section(name):
    """Return what docs/commands.md says of a command."""
    return re.search(rf"^## {name}\n(.*?)(?=^## |\Z)", DOCS.read_text(), re.MULTILINE | re.DOTALL)


def with_subcommands(name):
    """Return the command's words and those of each command under it, with the commands themselves."""
    command = COMMANDS[name]
    under = getattr(command, "commands", {})
    return {(name,): command} | {(name, word): one for word, one in under.items()}


ALL_WORDS = [words for name in sorted(COMMANDS) for words in with_subcommands(name)]


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_has_help_and_a_heading_in_the_docs(name):
    assert section(name), f"docs/commands.md has no heading {name}"
    for words, command in with_subcommands(name).items():
        told = " ".join(words)
        assert len(command.help.split()) >= 5
        assert told == name or f"stillwing {told}" in section(name)[1], f"{told} is not in the docs"
        for parameter in command.params:
            if parameter.param_type_name == "option":
                assert parameter.help, f"{told}: {parameter.name} has no help"
                assert parameter.opts[0] in section(name)[1] + "--help", f"{told}: {parameter.opts[0]} is undocumented"


def test_the_docs_describe_no_command_that_is_not_there():
    assert sorted(re.findall(r"^## ([\w-]+)$", DOCS.read_text(), re.MULTILINE)) == sorted(COMMANDS)


@pytest.mark.parametrize("words", ALL_WORDS, ids=" ".join)
def test_every_command_prints_its_help(stillwing, words):
    run = stillwing(*words, "--help")
    assert run.returncode == 0
    assert run.stdout.startswith("Usage: ")
    assert run.stderr == ""


def test_the_version_is_that_of_the_package(stillwing):
    run = stillwing("--version")
    assert (run.returncode, run.stdout.strip()) == (0, "0.1.0")


def test_a_command_that_is_not_there_is_refused(stillwing):
    run = stillwing("sieve")
    assert run.returncode == 2
    assert "sieve" in run.stderr
    assert "Traceback" not in run.stderr
