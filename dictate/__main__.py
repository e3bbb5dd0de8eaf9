"""`python -m dictate`."""

import sys

if __name__ == "__main__":
    try:
        from dictate.cli import main  # takes a second, in which Ctrl-C may come

        sys.exit(main())
    except KeyboardInterrupt:
        sys.stderr.write("dictate: stopped\n")
        sys.exit(130)
