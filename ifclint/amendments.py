"""Local amendments of the job file, made to the adopted code."""

from ifclint.codes import AdoptedCode, AmendedCell
from ifclint.errors import InputError
from ifclint.job import Job


def amended(code: AdoptedCode, the_job: Job) -> AdoptedCode:
    """The adopted code as the job file amends it. Raises InputError naming the amendment."""
    for number, amendment in enumerate(the_job.amendments, 1):
        if amendment.code not in (None, code.id):
            continue
        change = AmendedCell(
            amendment.table, amendment.row, amendment.column, amendment.value, amendment.reason
        )
        try:
            code = code.amended([change])
        except InputError as error:
            raise InputError(f"{the_job.place_of_amendment(number)}: {error}") from None
    return code
