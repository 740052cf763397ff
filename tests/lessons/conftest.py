"""The tests of lessons find the scripts that lie beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
