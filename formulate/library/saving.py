"""Write an answer to a file: a picture, a calendar, a table, a card, the problem itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from formulate.answers.check import CheckAnswer
from formulate.answers.compare import CompareAnswer
from formulate.answers.mix_answer import MixAnswer
from formulate.answers.prices import PricesAnswer
from formulate.answers.rehydrate import Rehydration
from formulate.answers.season import SeasonAnswer
from formulate.answers.shop import ShopAnswer
from formulate.answers.today import Today
from formulate.base.errors import InputError, WrongType
from formulate.base.messages import listed, say
from formulate.base.outputs import Output, check_output, write_output
from formulate.base.units import Kitchen

__all__ = ["save"]

#: What an answer can be written as.
_OUTPUTS: dict[type, tuple[Output, ...]] = {
    MixAnswer: (Output.PICTURE, Output.PROGRAM),
    CheckAnswer: (Output.PICTURE,),
    CompareAnswer: (Output.PICTURE,),
    PricesAnswer: (Output.PICTURE, Output.TABLE),
    Today: (Output.PICTURE,),
    ShopAnswer: (Output.PICTURE, Output.CALENDAR),
    SeasonAnswer: (Output.PICTURE,),
    Rehydration: (Output.SHEET,),
}


def save(answer: Any, path: Path | str) -> Path:
    r"""Write an answer to a file, in the form that the file's ending names.

    Parameters
    ----------
    answer : MixAnswer, CheckAnswer, CompareAnswer, PricesAnswer, Today or another answer
        What a question gave, except `many` and `record`.
    path : Path or str
        Ends in .svg, .png or .pdf for a picture (of a drink for scour: a card, .pdf or .png);
        .ics for the calendar of a shopping plan; .csv for the rows of a price map; .lp or .mps
        for the program of a mix, to be solved elsewhere. For JSON and other tables see
        ``to_json`` and ``to_frame``.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    WrongType
        If it is no such answer.
    InputError
        If the ending does not fit, there is nothing to write, or the file is there and this
        program did not make it.

    Examples
    --------
    >>> import formulate, pathlib, tempfile
    >>> milk = formulate.mix(formulate.sample_pantry())
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     written = formulate.save(milk, pathlib.Path(folder) / "milk.lp")
    ...     written.read_text().splitlines()[0]
    '\\* formulate *\\'
    """
    outputs = _OUTPUTS.get(type(answer))
    if outputs is None:
        names = listed([kind.__name__ for kind in _OUTPUTS], either=True)
        raise WrongType(say("library.what.answer"), answer, say("library.an-answer", names=names))
    if not isinstance(path, str | Path):
        raise WrongType(say("library.what.path"), path, say("library.a-path"))
    file = Path(path)
    output = next((one for one in outputs if file.suffix.lower() in one.endings), None)
    if output is None:
        endings = listed([end for one in outputs for end in one.endings], either=True)
        problem = say("library.cannot-save", kind=type(answer).__name__, ending=file.suffix or "?")
        raise InputError(problem, say("library.save-as", endings=endings), str(file))
    check_output(file, output)
    if not _written(answer, file, output):
        raise InputError(say("library.nothing-to-save"), "", str(file))
    return file


def _written(answer: Any, file: Path, output: Output) -> bool:
    """Write it; False if the answer has nothing of the kind."""
    match answer:
        case MixAnswer():
            from formulate.report.mix import write_files

            problems, picture = ([file], None) if output is Output.PROGRAM else ([], file)
            return bool(write_files(answer, problems, picture))
        case CompareAnswer():
            from formulate.report.compared import write_picture

            return bool(write_picture(answer, file))
        case PricesAnswer():
            from formulate.report.priced import write_files as write_prices

            table, picture = (file, None) if output is Output.TABLE else (None, file)
            return bool(write_prices(answer, table, picture))
        case Rehydration():
            return _card_written(answer, file)
        case ShopAnswer() if output is Output.CALENDAR:
            from formulate.report.calendar import calendar_text

            if answer.plan:
                write_output(file, calendar_text(answer), output)
            return answer.plan is not None
    return _drawn(answer, file)


def _drawn(answer: Any, file: Path) -> bool:
    """Draw it; False if there is nothing to draw."""
    from formulate.report.pictures import growth, look, shopping
    from formulate.report.pictures import mix as mixes

    match answer:
        case CheckAnswer() if answer.milk is not None:
            figure = mixes.reads_picture(answer.milk.mix)
        case Today() if any(one.plan is not None for one in answer.animals):
            figure = growth.draw_growth(answer)
        case ShopAnswer() if answer.plan is not None:
            figure = shopping.draw_shopping(answer.plan)
        case SeasonAnswer() if answer.own is not None:
            figure = shopping.draw_season(answer)
        case _:
            return False
    look.save_picture(figure, file)
    return True


def _card_written(answer: Rehydration, file: Path) -> bool:
    """Print the card of a drink; False if there is no drink that may be given."""
    from formulate.report.printed.drink_card import save_drink_card
    from formulate.report.printed.paper import Paper

    if answer.good:
        save_drink_card(answer, Paper.LETTER if answer.kitchen is Kitchen.US else Paper.A4, file)
    return answer.good
