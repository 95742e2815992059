"""`python -m bellywork`."""

import sys

from bellywork.cli.main import main

sys.exit(main())
