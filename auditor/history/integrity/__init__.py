"""Signs that a submission should not be believed as it stands. Each is a question to the contractor, with the figure
and its chance under honest measuring; never an accusation."""

from auditor.history.integrity.akin import COMPARED, akin
from auditor.history.integrity.bias import instrument_bias
from auditor.history.integrity.copies import copied_grids
from auditor.history.integrity.digits import digits_uneven
from auditor.history.integrity.fingerprint import grid_fingerprint
from auditor.history.integrity.pace import pace_implausible
from auditor.history.integrity.repeats import repeated_surveys
from auditor.history.integrity.resemblance import grid_resembles
from auditor.history.integrity.signs import integrity_signs
from auditor.history.integrity.smoothness import readings_too_smooth

__all__ = [
    "COMPARED",
    "akin",
    "copied_grids",
    "digits_uneven",
    "grid_fingerprint",
    "grid_resembles",
    "instrument_bias",
    "integrity_signs",
    "pace_implausible",
    "readings_too_smooth",
    "repeated_surveys",
]
