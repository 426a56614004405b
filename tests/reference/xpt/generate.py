"""Writes transport files of version 5 and 8 with another tool, and what it reads back from them.

Run in this folder: python3 generate.py   (pyreadstat 1.3.7, pandas). Needs no network.
Values are made up.
"""

import struct
from pathlib import Path

import numpy as np
import pandas as pd
import pyreadstat

here = Path(__file__).parent

frame = pd.DataFrame(
    {
        "SEQN": [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0],
        "ZERO": [0.0, -0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0],
        "VALUE": [-1.5, 0.1, 5.397605346934028e-79, 7.0e74, 123456.789, -2.0e-30, 1.0 / 3.0, np.nan],
        "MISSING": [np.nan, 1.0, np.nan, 2.0, np.nan, 3.0, np.nan, np.nan],
        "TEXT": ["one", "", "zwölf µ", " led", "trail ", "a,b", 'q"q', "8"],
    }
)
labels = {"SEQN": "person", "VALUE": "value, µ unit"}
for version in (5, 8):
    # Version 8 allows names of more than eight letters.
    names = {"MISSING": "MISSING_SINCE_BIRTH"} if version == 8 else {}
    pyreadstat.write_xport(
        frame.rename(columns=names),
        here / f"v{version}.xpt",
        file_format_version=version,
        table_name="MADEUP",
        column_labels=labels,
    )

# Special missing values are not offered by the writer: they are put into the bytes of version 5. A missing number
# is one letter (or . or _) followed by zeros.
data = bytearray((here / "v5.xpt").read_bytes())
plain = struct.pack(">8s", b".")
first = data.index(b"HEADER RECORD*******OBS")
letters = iter(b".A_ZM")
at = first
changed = 0
while (at := data.find(plain, at + 1)) >= 0:
    if changed < 5:
        data[at] = next(letters)
        changed += 1
(here / "v5_special.xpt").write_bytes(data)
assert changed == 5, changed

# Truncated in the middle of a record.
(here / "truncated.xpt").write_bytes((here / "v5.xpt").read_bytes()[:-100])

rows = []
for name in ("v5", "v8", "v5_special"):
    read, _ = pyreadstat.read_xport(here / f"{name}.xpt")
    for row, record in enumerate(read.itertuples(index=False)):
        for column, value in zip(read.columns, record):
            missing = value is None or (isinstance(value, float) and np.isnan(value)) or value == ""
            text = "" if missing else value if isinstance(value, str) else repr(float(value))
            rows.append((name, row + 1, column, text))
with open(here / "expected.csv", "w", encoding="utf-8") as out:
    out.write("# tool: pyreadstat 1.3.7\n# call: read_xport of the files written by generate.py\n# tolerance: exact\n")
    pd.DataFrame(rows, columns=["file", "row", "column", "value"]).to_csv(out, index=False)
