"""Composition, household measures and sources of the foods, as plain tables.

Every table is a UTF-8 comma-separated file with one header line, readable without this package.

The food-composition tables are listed in ``tables.toml``: whose kitchens each describes, its
release, its licence. Each has a folder of its name, all in one layout, so that a further table is
data only:

``foods.csv``
    One food a row, kept by hand: its record in the table, its kind, the food of another table
    that it is (`same_food`), whether it is offered unasked (`suitable`), only when named
    (`on-request`) or only for a drink beside the milk (`drink-only`), the largest share of a mix
    it may have, the lactic acid that fermentation made in it, and the other words people use for
    it. A name in another language has a `gloss`.
``left_out.csv``
    Foods a person may ask for that have no row, each with the reason. Kept by hand.
``rows.csv``
    The table's own rows as printed. (SR28 is too large: its release is fetched.)
``decisions.csv``
    What could not be taken as printed, each with its reason. Kept by hand.
``values.csv``
    One value a row, per 100 g as fed. What the table does not give has no row: missing is not
    zero. Made by :mod:`nutrient_tables.build` for SR28, which it keeps to the letter, and by
    :mod:`nutrient_tables.convert` for the others.
``household.csv``
    What a cup, a can or an egg weighs. A row with millilitres is a volume and so a density; a row
    without is a count of pieces. Made as ``values.csv`` is.
``flags.csv``
    Every mark of the table that is not a number: traces, values below a limit. Made likewise.

Beside them:

``drink/``
    Salts, baking soda and glucose for the drink of a scouring animal, in the same files; and
    chloride, bicarbonate and citrate of water and sugars, which no food table gives. Salt and soda
    have SR28's figures, the rest stand on their formulas or on a label. Kept by hand.
``spreads.csv``
    How much cartons of one kind of food differ in a measure where a food itself does not tell:
    standard deviation over mean, one a row; kind ``*`` is any other. Kept by hand.
``standards.csv``
    What the law demands of milk, cream or powder sold under a name, one demand a row. Kept by hand.
``schedules.csv``
    Published feeding schedules by age and by weight, and the fewest feeds at each age. The figures
    of rearing beside them stand in ``rearing.toml``, what a growth check tells in
    ``growth_signs.toml``. Kept by hand.
``sources.csv``
    The document behind each source key of the other tables.

In ``foods.csv`` an estimate stands as ``judgement: `` and its reason where a source key would
stand, so that nobody mistakes it for a published figure.
"""

from __future__ import annotations

from io import TextIOWrapper

__all__ = ["open_table"]


def open_table(name: str) -> TextIOWrapper:
    """Open one of the tables for reading.

    Parameters
    ----------
    name : str
        The table's name without its ending, such as ``"sources"`` or ``"usda-sr28/foods"``.

    Returns
    -------
    TextIOWrapper
        The open file, as the `csv` module wants it. Close it, or use it in a `with` statement.

    Raises
    ------
    FileNotFoundError
        If there is no such table.

    Examples
    --------
    >>> with open_table("usda-sr28/foods") as table:
    ...     table.readline().split(",")[:3]
    ['id', 'record', 'name']
    """
    from importlib.resources import files  # whose import takes longer than most tables

    table = files(__name__).joinpath(f"{name}.csv").open("rb")
    return TextIOWrapper(table, encoding="utf-8", newline="")
