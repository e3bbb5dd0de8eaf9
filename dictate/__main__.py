"""`python -m dictate`."""

import sys

from dictate.cli import main

if __name__ == "__main__":
    sys.exit(main())
