"""`settle`, `release`, `tag`, `verify`: what people decide, and the proof that it stands."""

from __future__ import annotations

from typing import Any

from auditor.cli import common
from auditor.cli.main import COULD_NOT, DONE


def settle(options: Any) -> int:
    from auditor.intake import settle as settle_survey

    with common.open_store(options) as store:
        values = dict(options.settings)
        offers = common.asked(
            settle_survey, store, options.survey, values, evidence=options.evidence, by=options.by,
            terms=common.terms_of(options), remember=options.remember,
        )  # fmt: skip
        return _show(store, [options.survey], options, offers)


def release(options: Any) -> int:
    from auditor.intake import release as release_surveys

    with common.open_store(options) as store:
        terms = common.terms_of(options)
        common.asked(release_surveys, store, options.surveys, reason=options.reason, by=options.by, terms=terms)
        return _show(store, options.surveys, options)


def _show(store: Any, survey_ids: list[str], options: Any, offers: Any = ()) -> int:
    from auditor import account
    from auditor.cli import offering

    surveys = store.table("surveys", survey_id=survey_ids)
    still = store.table("discrepancies", survey_id=survey_ids, state="open")
    if options.json:
        document = {"surveys": common.rows_of(surveys), "discrepancies": common.rows_of(still)}
        if options.command == "settle":
            document["offers"] = [offering.row(one, options) for one in offers]
        common.print_json(document)
        return DONE
    out = account.console()
    for row in surveys.to_dict("records"):
        said = row["verdict"] if row["status"] == "accepted" else f"provisionally {row['provisional_verdict']}"
        out.print(f"{row['survey_id']}  {account.plain(row['hood_id'])}: {row['status']}, {said}")
    account.mend(out, still)
    offering.tell(out, offers, options)
    out.print(account.CAUTION, style="dim")
    return DONE


def tag(options: Any) -> int:
    with common.open_store(options) as store:
        action = "posted" if options.posted else "removed"
        common.asked(store.tag, options.hood, action, options.by, work_order=options.work_order or "")
        if options.json:
            common.print_json(common.rows_of(store.tags()[lambda tags: tags["hood_id"].eq(options.hood)]))
        else:
            print(f"notice {action} on {options.hood}: in the log")
    return DONE


def verify(options: Any) -> int:
    with common.open_store(options, read_only=True) as store:
        breaks, (entries, head) = store.verify(), store.head()
    if options.json:
        common.print_json({"unbroken": not breaks, "breaks": breaks, "entries": entries, "head": head})
    elif breaks:
        print("\n".join(breaks))
    else:
        print(f"unbroken: {entries} entries, the last one {head}")
    return COULD_NOT if breaks else DONE
