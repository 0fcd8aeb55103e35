"""What to do about it: what actions did before, what they can be expected to do, and a second, independent look."""

from auditor.history.planning.events import event_effects
from auditor.history.planning.fixes import fix_plan
from auditor.history.planning.remeasure import firm_accuracy, pair_up, remeasure_plan

__all__ = ["event_effects", "firm_accuracy", "fix_plan", "pair_up", "remeasure_plan"]
