"""Write what an organisation says that trouble codes mean, on one engine family or on all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.codes.form import parse_code
from garage.evidence.codes.heavy import parse_heavy
from garage.evidence.codes.meanings import groups
from garage.evidence.refused import broken_from
from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, broken_by, refuse_all
from garage.records.models import EngineFamily, Organisation, OwnCodeWording
from garage.records.services.audit import Change, audit_record, changes_between
from garage.records.texts import text_needed

LONGEST_WORDS, LONGEST_SOURCE = 120, 200


@dataclass(frozen=True)
class OwnWording:
    """A code as printed without a failure type, what it says, its group, and who says so.

    Without an engine family it holds for all of them.
    """

    code: str
    words: str
    group: str
    source: str
    engine_family: EngineFamily | None = None


def own_wording_set(
    *,
    organisation: Organisation,
    wording: OwnWording,
    at: datetime,
    by: AbstractBaseUser | None = None,
) -> OwnCodeWording:
    """Keep own words in place of earlier ones of the same code and family, or of all.

    RuleBroken names every fault at once: no code, a group that is not known, no words, no source.
    """
    refuse_all(_broken(wording))
    code = _code_of(wording.code)
    said = {"words": _words(wording), "group": wording.group, "source": _source(wording)}
    with transaction.atomic():
        Organisation.objects.select_for_update().get(pk=organisation.pk)
        kept = organisation.own_code_wordings.filter(
            code=code, engine_family=wording.engine_family
        ).first()
        verb = AuditVerb.ADD if kept is None else AuditVerb.CHANGE
        if kept is None:
            kept = OwnCodeWording(
                organisation=organisation, code=code, engine_family=wording.engine_family
            )
        before = {} if kept.pk is None else {name: getattr(kept, name) for name in said}
        for name, value in said.items():
            setattr(kept, name, value)
        changes = changes_between(before, said)
        if changes:
            kept.save()
            audit_record(
                organisation=organisation,
                change=Change(verb, kept, {"code": [code, code], **changes}),
                by=by,
                at=at,
            )
    return kept


def own_wording_remove(
    *, wording: OwnCodeWording, at: datetime, by: AbstractBaseUser | None = None
) -> None:
    """Remove own words, so that the next ones hold: those for all families, or those shipped.

    Removed already stays so.
    """
    with transaction.atomic():
        organisation = Organisation.objects.select_for_update().get(pk=wording.organisation_id)
        kept = organisation.own_code_wordings.filter(pk=wording.pk).first()
        if kept is None:
            return
        gone = {name: [getattr(kept, name), None] for name in ("code", "words", "group", "source")}
        audit_record(
            organisation=organisation, change=Change(AuditVerb.REMOVE, kept, gone), by=by, at=at
        )
        kept.delete()


def _code_of(text: str) -> str:
    """The code as kept. Raises ValueError for none, and for one with a failure type."""
    if "/" in text or "SPN" in text.upper():
        return parse_heavy(text).printed
    code = parse_code(text)
    if code.failure_type is not None:
        raise ValueError(
            "words are kept for a code whatever its failure type, as in P2463; "
            f"got {code.printed!r}. Leave the failure type out"
        )
    return code.code


def _words(wording: OwnWording) -> str:
    return text_needed(
        wording.words,
        column="words",
        most=LONGEST_WORDS,
        rule="what a code says is told in",
        do="Say it in a few words.",
    )


def _source(wording: OwnWording) -> str:
    return text_needed(
        wording.source,
        column="source",
        most=LONGEST_SOURCE,
        rule="the source says who says so in",
        do="Say what it rests on: a maker's document, own experience, a date.",
    )


def _broken(wording: OwnWording) -> Iterator[RuleBroken]:
    try:
        _code_of(wording.code)
    except ValueError as wrong:
        yield broken_from(wrong, got=wording.code.strip(), column="code")
    if wording.group not in groups():
        yield RuleBroken(
            f"a group is one of {', '.join(groups())}",
            got=wording.group,
            do="Choose from the list.",
            column="group",
        )
    yield from broken_by(lambda: _words(wording), lambda: _source(wording))
