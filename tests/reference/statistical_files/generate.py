"""Writes a Stata and an SPSS file of made-up people with another tool.

Run in this folder: python3 generate.py   (pyreadstat 1.3.7, pandas). Needs no network.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pyreadstat

here = Path(__file__).parent
frame = pd.DataFrame(
    {
        "id": ["a", "b", "c", "d"],
        "age": [30.0, 41.0, 52.0, 63.0],
        "glucose": [90.0, np.nan, 101.5, 1.0 / 3.0],
        "insulin": [0.0, 8.25, np.nan, 123456.789],
        "sex": [1.0, 2.0, 2.0, 1.0],
    }
)
labels = {"sex": {1.0: "man", 2.0: "woman"}}
pyreadstat.write_dta(frame, here / "people.dta", variable_value_labels=labels)
pyreadstat.write_sav(frame, here / "people.sav", variable_value_labels=labels)

lines = ["# tool: pyreadstat 1.3.7", "# call: read_dta and read_sav of the files written by generate.py"]
lines += ["# tolerance: exact", "file,row,column,value"]
for name, read in (("dta", pyreadstat.read_dta), ("sav", pyreadstat.read_sav)):
    back, _ = read(here / f"people.{name}")
    for row, record in enumerate(back.itertuples(index=False)):
        for column, value in zip(back.columns, record):
            if column in ("age", "glucose", "insulin"):
                lines.append(f"{name},{row + 1},{column},{'' if np.isnan(value) else repr(float(value))}")
(here / "expected.csv").write_text("\n".join(lines) + "\n")
