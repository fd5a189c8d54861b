"""Findings brought from the line of their entry to the line of the field at fault."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from kb.catalogue import Source, folder_texts
from rules.audit import Audit
from rules.audit_base import Finding

FIELDS: Mapping[str, str] = {
    "dear-kit": "price", "fit-contradicted": "fits", "fit-too-wide": "fits",
    "long-chain": "supersedes", "no-caution": "cautions", "no-price": "price", "odd-mass": "mass",
    "odd-price": "price", "rule-always-holds": "then_any", "rule-never-fires": "when",
    "successor-differs": "supersedes", "successor-not-sold": "supersedes",
    "trial-disagrees": "verdict", "trial-unlisted": "parts", "unknown-check": "check",
    "unmet-need": "requires",
}
"""Per sort of finding, the field that says what is wrong; an entry may lack it."""


def to_the_line(found: Audit, folder: Path) -> Audit:
    """The findings with the line of their field, where the files of `folder` have one."""
    texts = dict(folder_texts(folder)[0])

    @cache
    def source(file: str) -> Source:
        return Source(file, texts[file])

    def moved(finding: Finding) -> Finding:
        file, _, line = finding.where.rpartition(":")
        field = FIELDS.get(finding.code)
        if field is None or file not in texts:
            return finding
        section, _, key = finding.entry.partition("/")
        where = f"{file}:{source(file).line((section, key, field)) or line}"
        return finding.model_copy(update={"where": where})

    return found.model_copy(update={"findings": tuple(map(moved, found.findings))})
