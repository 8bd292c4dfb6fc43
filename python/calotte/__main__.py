"""``python -m calotte``: the program."""

import subprocess
import sys

from ._errors import ProgramError
from ._program import program


def main() -> int:
    """Runs the program with the arguments given."""
    try:
        return subprocess.run([program(), *sys.argv[1:]]).returncode  # noqa: PLW1510
    except ProgramError as e:
        print(e, file=sys.stderr)
        return e.code
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
