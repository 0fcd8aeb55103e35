"""Pure computation on frames of surveys and readings: units, identity, face velocity, cross-draft, smoke, tracer
gas."""

from auditor.survey.compute import compute
from auditor.survey.identity import match_hoods
from auditor.survey.normalise import normalise

__all__ = ["compute", "match_hoods", "normalise"]
