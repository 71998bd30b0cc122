"""``python -m strongback.cli`` is the ``strongback`` command."""

from strongback.cli import run

if __name__ == "__main__":
    run()
