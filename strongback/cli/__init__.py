"""The command line: arguments in, calls to the stages below, text out; no numerics.

One module a command, imported when it is called. `strongback.cli.frame` finds them, `strongback.cli.common` holds what
they share.
"""

from __future__ import annotations

import sys
from typing import NoReturn

__all__ = ["run"]


def run() -> NoReturn:
    """Entry point of the ``strongback`` command."""
    from strongback.cli.frame import main  # after the package: `python -m strongback.cli` starts here too

    sys.exit(main())
