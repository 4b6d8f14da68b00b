"""Commands as a person types them, run in this process."""

from click.testing import CliRunner

from costmodel.command.main import main


def run(*words):
    """What a command prints and ends with."""
    return CliRunner().invoke(main, [str(word) for word in words])
