"""Who answers for a finding, written into a job file: one table, everything around it left as it was."""

from collections.abc import Mapping

from pattress.design.tables import with_table
from pattress.errors import UseError
from pattress.job import read


def accepted(text: str, finding: str, row: Mapping[str, str], file: str) -> str:
    """Return a job file's text with [accept."FINDING"] added: reason, by and date.

    Raises JobError where the row is none (a reason of under ten letters, a name of one), UseError
    where the file cannot take it.
    """
    changed = with_table(text, ("accept", finding), row)
    before, (after, _) = read(text.removeprefix("\ufeff"), file)[0], read(changed.removeprefix("\ufeff"), file)
    if before.model_copy(update={"accept": after.accept}) != after or finding not in after.accept:
        raise UseError(f'{file} is left as it is: the table cannot be written into it\n  write it by hand: [accept."{finding}"] with reason, by and date')
    return changed
