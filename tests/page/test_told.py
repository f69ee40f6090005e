"""Lines of a report on the page: what was wrapped flows again, nothing else is joined."""

from formulate.page.told import Block, blocks
from formulate.report.words import bullet, paragraph, table

LONG = " ".join(["A sentence that has no room on one line of a terminal goes on in the next."] * 3)


def test_a_wrapped_paragraph_is_one_again():
    assert blocks([paragraph(LONG), "Short.", "Another."]) == (
        Block("text", (LONG, "Short.", "Another.")),
    )


def test_a_wrapped_item_is_one_again_and_no_title_is_joined_to_it():
    lines = ["Title", bullet(LONG), bullet("Two."), "", "After."]
    assert blocks(lines) == (
        Block("text", ("Title",)),
        Block("items", (LONG, "Two.")),
        Block("text", ("After.",)),
    )


def test_a_table_keeps_its_columns():
    rows = table([("food", "cost"), ("whole milk", "3.89"), ("cream", "12.10")], right=(1,))
    assert blocks(["Costs", *rows, "The end."]) == (
        Block("text", ("Costs",)),
        Block("table", tuple(rows)),
        Block("text", ("The end.",)),
    )


def test_a_table_of_one_line_flows():
    (row,) = table([("refractometer", "11.0", "agrees")])
    assert blocks([row]) == (Block("text", ("refractometer · 11.0 · agrees",)),)


def test_a_line_before_a_number_and_its_unit_goes_on_with_them():
    for letters in range(60, 90):  # wherever the line ends
        text = f"{'o' * (letters - 10)} had in its first 24 hours; at least 648 mL by 20:15."
        assert blocks([paragraph(text)]) == (Block("text", (text,)),)


def test_a_name_that_was_parted_at_its_hyphen_is_one_again():
    from formulate.page.told import blocks
    from formulate.report.words import bullet

    name = "sweetened-condensed-milk"
    for before in range(40, 80):
        text = f"{'x' * before} {name} must not be fed to any lamb, whoever says so, ever."
        (block,) = blocks([bullet(text)])
        assert block.lines == (text,), before
