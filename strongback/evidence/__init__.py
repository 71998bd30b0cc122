"""Readings and what follows from them: reduced, compared, calibrated, planned, explained.

In order: `readings` (values) and `reduce` know no machine; `estimators` need none; `compare`, `calibrate`, `plan` and
`explain` see both. The numerical cores are `anova`, `lines`, `uncertainty`, `fit` and `identify`.
"""
