"""Coverage of the set's band by many invented surveys, as docs/estimate.md tells it; a smaller draw is in the checks.

python tests/survey/set_coverage.py [SURVEYS]
"""

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from test_set_field import SHAPES, held

SEED = 20261202  # fixed before the result was seen
WAYS = {
    "bare and strung": {},
    "the same, three of 96 misread by 2 mm": {"misread": 3},
    "the same, scattering twice as told": {"real": 0.5},
    "bare alone": {"states": 1},
    "bare alone, two of 48 misread": {"states": 1, "misread": 2},
    "ribs 2 and 4 of six alone": {"read": (1, 3)},
}

if __name__ == "__main__":
    many, start = int(sys.argv[1]) if len(sys.argv) > 1 else 500, time.perf_counter()
    for words, how in WAYS.items():
        for name in SHAPES:
            share = held(name, many, SEED, **how)
            row = " | ".join("" if each != each else f"{100.0 * each:.1f} %" for each in share.values())
            print(f"| {words} | {name} | {row} |", flush=True)
    print(f"{many} surveys of six ribs each, {time.perf_counter() - start:.0f} s", file=sys.stderr)
