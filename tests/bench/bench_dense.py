"""The low-rank solver beside plain nodal equations: every fault of the pick-up in each of three states.

The test suite has every fault in one of them.

    python tests/bench/bench_dense.py
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.circuit.test_engine_dense import STATES, compare_with_dense


def main() -> None:
    """Stop at the first state that does not come out."""
    for positions in STATES:
        compare_with_dense(positions, 0, 1)
        print("the same to a microvolt:", positions or "as assumed", flush=True)


if __name__ == "__main__":
    main()
