"""Criteria profiles as data, and judging hoods by them."""

from __future__ import annotations

from auditor.criteria.describe import describe
from auditor.criteria.judging import Judgement, judge
from auditor.criteria.loading import combine, load_profiles
from auditor.criteria.profile import Limit, Profile, ProfileError

__all__ = ["Judgement", "Limit", "Profile", "ProfileError", "combine", "describe", "judge", "load_profiles"]
