"""Nothing moves unseen: golden.csv holds forty setups, six beliefs, two rankings and a trial.

What the numbers mean is tested elsewhere; here only that they are as they were, or moved with a reason.
"""

import importlib.util
from pathlib import Path

_SPEC = importlib.util.spec_from_file_location("golden", Path(__file__).parent / "golden.py")
golden = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(golden)


def test_every_row_is_as_it_was():
    today = golden.rows()
    kept = {(r["case"], r["row"], r["what"]): r["value"] for r in golden.kept()}
    assert today.keys() == kept.keys()
    moved = [
        f"{' | '.join(key)}: {kept[key]} -> {value}"
        for key, (value, _) in today.items()
        if golden.differs(key[2], kept[key], value)
    ]
    assert not moved, f"{len(moved)} of {len(kept)} rows moved:\n" + "\n".join(moved[:40])


def test_a_row_moves_only_where_it_may_and_says_why():
    moved = [r for r in golden.kept() if r["was"] or r["why"]]
    silent = [r for r in moved if not (r["why"] and r["was"])]
    forbidden = [r for r in moved if not r["may_move"] and not r["why"].startswith("demo:")]
    assert not silent and not forbidden, (silent[:5], forbidden[:5])


def test_the_table_is_what_it_says():
    """Eight sites by five setups; some rows of each that nothing may move."""
    cases = {r["case"] for r in golden.kept()}
    setups = [c for c in cases if not c.startswith(("belief:", "ranking:", "trial:"))]
    assert len(setups) == 40 and len({c.split(":")[0] for c in setups}) == 8
    assert sum(c.startswith("belief") for c in cases) == 6
    assert sum(not r["may_move"] for r in golden.kept()) >= 100
