"""Where cross-draft failures gather, whether chance would gather them so, and what the places share."""

from auditor.history.drafts.clusters import clusters
from auditor.history.drafts.failures import cross_draft_failures
from auditor.history.drafts.recurrence import recurrence

__all__ = ["clusters", "cross_draft_failures", "recurrence"]
