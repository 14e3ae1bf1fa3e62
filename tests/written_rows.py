"""Rows as people write them, for the two that read them: the core, and the bench in the browser."""

ROWS: dict[str, list[list[str]]] = {
    "12 1": [[str(number) for number in range(1, 13)], ["13"]],
    "3": [["1", "2", "3"]],
    "2": [["1", "2"]],
    "2 1": [["1", "2"], ["3"]],
    "1, 1": [["1"], ["2"]],
    "1 2 3": [["1", "2", "3"]],
    "0 1": [["0", "1"]],
    " A1, A2 / B1 _ B3 ": [["A1", "A2"], ["B1", "", "B3"]],
    "1 2\n3 4": [["1", "2"], ["3", "4"]],
    "12 12\n": [[str(number) for number in range(1, 13)], [str(number) for number in range(13, 25)]],
    "2 1 /": [["2", "1"]],
}
"""What is written, and the contacts by row."""

REFUSED: dict[str, str] = {
    "": "Write the rows, such as 12 12.",
    "_ _": "Write the rows, such as 12 12.",
    "A B A": "Name each contact once: A",
    "A:1": "Use no colon and no @ in a contact: A:1",
    "1234567890123 x": "At most 12 characters name a contact: 1234567890123",
    "9999": "At most 64 rows of 200 contacts fit.",
    " ".join(["2"] * 65): "At most 64 rows of 200 contacts fit.",
    " ".join(f"c{number}" for number in range(201)): "At most 64 rows of 200 contacts fit.",
}
"""What is written, and what is said of it."""
