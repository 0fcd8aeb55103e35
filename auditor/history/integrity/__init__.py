"""Signs that a submission should not be believed as it stands. Each is a question to the contractor, with the figure
and its chance under honest measuring; never an accusation."""

from auditor.history.integrity.akin import COMPARED, akin
from auditor.history.integrity.copies import copied_grids
from auditor.history.integrity.fingerprint import grid_fingerprint
from auditor.history.integrity.repeats import repeated_surveys

__all__ = ["COMPARED", "akin", "copied_grids", "grid_fingerprint", "repeated_surveys"]
