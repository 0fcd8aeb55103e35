"""Layout cards are kept by contractor, the last one holds, and the log proves each of them."""

from __future__ import annotations

import pytest

from auditor.store import open_store
from tests.store.samples import batch


def test_the_last_card_of_a_contractor_holds_and_the_same_text_adds_nothing(url):
    with open_store(url) as store:
        assert store.add_card("Cobalt", "card = 1\n", "K. L.")
        assert store.add_card("Amber", "card = 1\n", "K. L.")
        assert store.add_card(" cobalt ", "card = 1\nunit = 'm/s'\n", "M. N.", why="letter")
        before = store.head()
        assert not store.add_card("COBALT", "card = 1\nunit = 'm/s'\n", "K. L.")
        assert store.head() == before
        kept = store.cards()
        assert list(zip(kept["contractor"], kept["body"], kept["made_by"], strict=True)) == [
            ("Amber", "card = 1\n", "K. L."),
            ("cobalt", "card = 1\nunit = 'm/s'\n", "M. N."),
        ]
        assert store.verify() == []


def test_a_card_needs_a_name_and_a_text(url):
    with open_store(url) as store:
        for contractor, body in (("", "card = 1"), ("Cobalt", "  ")):
            with pytest.raises(ValueError, match="contractor"):
                store.add_card(contractor, body)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("UPDATE card SET body = 'card = 1 # forged'", "not what the log says"),
        ("UPDATE card SET made_by = 'nobody'", "not what the log says"),
        ("UPDATE card SET contractor_key = 'amber'", "not what the log says"),
        ("DELETE FROM card", "was removed"),
        ("INSERT INTO card VALUES (9, 'Amber', 'amber', 'card = 1', '', '')", "not what the log says"),
    ],
)
def test_a_card_that_was_altered_behind_the_log_is_told(url, change, said):
    with open_store(url) as store:
        store.add_card("Cobalt", "card = 1\n", "K. L.")
        with store.transaction(), store._connection() as connection:
            connection.exec_driver_sql(change)
        [told] = store.verify()
        assert said in told


def test_an_alias_is_kept_by_name_and_only_for_a_known_hood(url):
    with open_store(url) as store:
        store.record(batch())
        with pytest.raises(ValueError, match="not in the register"):
            store.add_alias("BH2-14", "B-214", "K. L.")
        assert store.aliases().empty
