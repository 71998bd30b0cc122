"""``python -m strongback`` is the ``strongback`` command."""

from strongback.cli import run

if __name__ == "__main__":
    run()
