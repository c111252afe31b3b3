"""No cell of a list is a formula to a spreadsheet (OWASP, "CSV Injection")."""

import csv
import io

from foamwright.outputs.tables import csv_bytes


def test_cells_that_begin_like_formulas_are_text():
    cells = ["=1+1", "+1+1", "-1+1", "@SUM(1)", "\t=1", " =1", "|x", "plain", "a=b", "-1.5", "-3", "", 7]
    (_, row) = csv.reader(io.StringIO(csv_bytes(["c"] * len(cells), [cells]).decode()))
    assert row == ["'=1+1", "'+1+1", "'-1+1", "'@SUM(1)", "'\t=1", "' =1", "'|x", "plain", "a=b", "-1.5", "-3", "", "7"]
