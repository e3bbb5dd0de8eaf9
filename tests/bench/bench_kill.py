"""Kill -9 at random moments of a session, then `dictate resume --close`: is anything lost, or there twice?

    python tests/bench/bench_kill.py --kills 50 --keep /tmp/kills.jsonl [--model tiny.en] [--recording FILE]

Each kill takes as long as the session lasted (up to 1.5 minutes) and about 20 s: 50 take an hour. --keep
holds what was found, one JSON line a kill: a run that was stopped goes on. Judged (`tests/listen/kills.py`):
at most 0.25 s of sound lost, also if the header alone were believed, as after a power cut; each breath group
that had ended is told in the log at the end; no note twice.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from dictate.audio import load_recording  # noqa: E402
from tests.bench.kept import KeptRows  # noqa: E402
from tests.listen import kills  # noqa: E402

DEMO = ROOT / "audio_demo" / "after-lunch.flac"


def main() -> None:
    """Kill, judge, print."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--kills", type=int, default=50)
    parser.add_argument("--seed", type=int, default=6)
    parser.add_argument("--model", default="tiny.en")
    parser.add_argument("--recording", type=Path, default=DEMO)
    parser.add_argument("--keep", type=Path, metavar="FILE")
    options = parser.parse_args()
    kept = KeptRows(options.keep)
    chance = random.Random(options.seed)
    long_s = load_recording(options.recording).duration_s
    moments = [chance.uniform(0.05, long_s) for _ in range(options.kills)]
    for number, at_s in enumerate(moments):
        key = f"{options.recording.name} {options.model} {options.seed} {number}"
        if key not in kept.rows:
            with tempfile.TemporaryDirectory() as folder:
                verdict = kills.run(options.recording, at_s, folder=Path(folder), model=options.model)
            kept.put({"key": key, **asdict(verdict)})
        row = kept.rows[key]
        told = "; ".join(row["faults"]) or "well"
        lost = f"lost {row['lost_s']:.3f} s"
        print(f"{number:3} {at_s:6.2f} s: {lost}, {row['groups']} groups: {told}", flush=True)
    rows = list(kept.rows.values())
    faulty = sum(bool(row["faults"]) for row in rows)
    lost_s, behind_s = (max(row[name] for row in rows) for name in ("lost_s", "behind_s"))
    groups, notes = (sum(row[name] for row in rows) for name in ("groups", "notes"))
    print(f"{len(rows)} kills, {groups} breath groups, {notes} notes; with faults: {faulty}")
    print(f"sound lost: at most {lost_s:.3f} s, {behind_s:.3f} s if the header is believed")


if __name__ == "__main__":
    main()
