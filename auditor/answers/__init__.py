"""Answers out of the record: where the store and the pure functions meet for whoever reads (commands, screens, papers).

Nothing here writes. Figures never include held surveys; where they are left out, the answer says how many.
"""

from auditor.answers.states import hood_states
from auditor.answers.tables import table

__all__ = ["hood_states", "table"]
