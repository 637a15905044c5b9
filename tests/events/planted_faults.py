"""What is wrong in fixtures/demo-calendar-with-faults.csv, each row with a fault having just one.

(row of the file with the header as row 1, header of the column, what is wrong in a word or two)
"""

PLANTED_FAULTS = (
    (5, "End", "before start"),
    (6, "Surface", "unknown"),
    (7, "Name", "missing"),
    (8, "Start", "impossible"),
    (9, "Draw size", "too small"),
    (10, "City", "unknown"),
    (11, "Name", "duplicate"),
    (12, "Withdrawal deadline", "after start"),
    (13, "Entry deadline", "after start"),
    (14, "Entry fee", "negative"),
    (15, "Expected high", "too hot"),
    (16, "Draw size", "not a number"),
    (17, "End", "too long"),
    (18, "City", "ambiguous"),
)
