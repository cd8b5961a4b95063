"""``python -m advisor`` is ``sumpside``."""

import sys

from advisor.cli import main

if __name__ == "__main__":
    sys.exit(main())
