"""What went out to a recipient before counts with what goes out now; it is kept where the user says, and nowhere else."""

import dataclasses
import json
import os

import pytest

from costmodel.case.addresses import replaced
from costmodel.case.release_records import Confidential
from costmodel.core.faults import InputFaults
from costmodel.documents.editions import build, leak_check
from costmodel.documents.editions.closed_marks import external_view
from costmodel.documents.editions.sent_before import Recipient
from costmodel.documents.editions.stated_numbers import Earlier

from .cases import demo
from .plans import plan_inputs
from .running import run
from .test_edition_attacks import DAY, marked

USED, PRICE = "ledger.landed.silane.used", "prices.silane.price"
WIDENED = ("ledger.landed.silane.price",)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = plan_inputs().write(tmp_path_factory.mktemp("planned"))
    path = folder / "case.yaml"
    path.write_text(f"public_title: A plant\n{path.read_text(encoding='utf-8')}", encoding="utf-8")
    return folder


def recorded(recipient, case, day=DAY, widened=()):
    """Record an edition of a case as if it went out on a day."""
    release = build.build(case, "licensee", day).release
    with recipient.recorded(case, release, widened) as path:
        return path


@pytest.mark.slow
def test_two_rounds_at_two_prices_give_away_the_silane_and_either_alone_does_not(tmp_path):
    """Gases per m² and the landed price of silane go out twice: the difference of the sums over that of the prices is its amount.

    With the same price twice, or to another recipient, nothing follows.
    """
    dear, cheap = (replaced(marked(USED), {PRICE: replaced_price}) for replaced_price in (90.0, 60.0))
    buyer, other = Recipient("buyer", tmp_path), Recipient("other", tmp_path)
    assert leak_check.refuse_leaks(dear, "licensee", WIDENED) == []
    recorded(buyer, dear, widened=WIDENED)
    assert other.earlier(cheap) == ((), [])
    assert leak_check.refuse_leaks(dear, "licensee", WIDENED, buyer.earlier(dear)[0]) == []  # the same again
    (earlier,), notes = buyer.earlier(cheap)
    assert notes == []
    assert dict(earlier.times) == {PRICE: pytest.approx(90.0 / 60.0)}
    with pytest.raises(InputFaults, match=f"found process.gases_per_m2 in the edition of {DAY}.* together give {USED}") as refused:
        leak_check.refuse_leaks(cheap, "licensee", WIDENED, (earlier,))
    assert "with process.gases_per_m2 left out" in str(refused.value)
    folded = leak_check.folded(cheap, "licensee", WIDENED, (earlier,))
    assert leak_check.refuse_leaks(folded, "licensee", WIDENED, (earlier,)) == []


@pytest.mark.slow
def test_what_had_gone_out_by_itself_is_named_and_not_refused_for_ever():
    """An earlier edition stated the takt that is marked now: today's leaves it out and may go."""
    case = dataclasses.replace(
        demo(), confidential={"takt": Confidential("line.output.takt", "licensee", ""),
                              "left": Confidential("process.takt", "licensee", "", "takt")},
    )  # fmt: skip
    warned = leak_check.refuse_leaks(case, "licensee", (), (Earlier("the edition of May", "licensee"),))
    assert [str(each) for each in warned] == ["process.takt in the edition of May gives line.output.takt"]


def test_a_record_holds_inputs_of_the_external_view_alone_says_so_and_is_closed_to_others(tmp_path):
    path = recorded(Recipient("buyer", tmp_path), demo())
    content = json.loads(path.read_text(encoding="utf-8"))
    assert content["note"].startswith("Internal. Holds inputs of the case")
    known = {a for a, value in content["inputs"].items() if value}
    assert not [a for a in known if a.startswith(("licensor", "prospects", "measurements", "negotiation", "other_ways"))]
    assert demo().deal.licensor.contribution not in (content["inputs"].get("licensor.contribution"),)
    assert external_view(demo()).deal.licensor.contribution == 0.0
    assert os.stat(path).st_mode & 0o077 == 0
    assert os.stat(path.parent).st_mode & 0o077 == 0


def test_a_record_is_taken_back_where_the_edition_could_not_be_made(tmp_path):
    recipient, release = Recipient("buyer", tmp_path), build.build(demo(), "licensee", DAY).release
    with pytest.raises(OSError, match="full"), recipient.recorded(demo(), release):
        raise OSError("full")
    assert recipient.records() == {}


@pytest.mark.parametrize("name", ["", "a/b", "../a", ".hidden", "a b", "x" * 61])
def test_a_name_that_is_no_folder_is_refused(name, tmp_path):
    with pytest.raises(InputFaults, match=r"--recipient: found .*; allowed: letters, digits"):
        Recipient(name, tmp_path)


def test_a_record_that_was_changed_or_is_of_another_is_refused_with_its_file(tmp_path):
    (tmp_path / "buyer").mkdir()
    (tmp_path / "buyer" / "a.json").write_text("{}", encoding="utf-8")
    path = recorded(Recipient("other", tmp_path), demo())
    (tmp_path / "buyer" / "b.json").write_bytes(path.read_bytes())
    with pytest.raises(InputFaults) as refused:
        Recipient("buyer", tmp_path).records()
    assert "buyer/a.json, 'note': found no record" in str(refused.value)
    assert "buyer/b.json, 'recipient': found 'other'; allowed: records of buyer alone" in str(refused.value)


def test_an_edition_of_other_rows_is_said_to_be_compared_in_part(tmp_path):
    recipient = Recipient("buyer", tmp_path)
    recorded(recipient, demo())
    case = dataclasses.replace(demo(), carriers={})
    (_earlier,), notes = recipient.earlier(case)
    assert len(notes) == 1
    assert "made of other rows than the case has now" in notes[0]


@pytest.mark.slow
def test_the_command_records_and_counts_and_without_the_options_nothing_is_kept(folder, tmp_path):
    sent, out = tmp_path / "sent", tmp_path / "out"
    words = ["release", str(folder), "--edition", "investor"]
    assert run(*words, "--out", str(out / "none.yaml")).exit_code == 0
    assert not sent.exists()
    to = ["--recipient", "buyer", "--sent", str(sent)]
    shown = run(*words, *to)
    assert "buyer: no earlier editions in" in shown.stderr
    assert not sent.exists()  # shown only
    first = run(*words, *to, "--out", str(out / "first.yaml"))
    assert first.exit_code == 0, first.output
    assert "This edition is recorded there with the inputs it was made of. Keep that folder inside." in first.stderr
    assert len(list(sent.glob("buyer/*.json"))) == 1
    second = run(*words, *to)
    assert "buyer: 1 earlier edition in" in second.stderr
    assert "other: no earlier editions in" in run(*words, "--recipient", "other", "--sent", str(sent)).stderr


@pytest.mark.slow
def test_a_document_for_a_recipient_is_recorded_and_an_inside_one_refused(folder, tmp_path):
    sent, out = tmp_path / "sent", tmp_path / "out"
    to = ["--recipient", "buyer", "--sent", str(sent), "--out", str(out)]
    made = run("report", str(folder), "--kind", "investor", *to)
    assert made.exit_code == 0, made.output
    assert len(list(sent.glob("buyer/*.json"))) == 1
    for more, found in ((["--kind", "memo"], "--kind memo"), (["--kind", "investor", "--all-scenarios"], "--all-scenarios")):
        result = run("report", str(folder), *more, *to)
        assert result.exit_code == 2
        assert f"--recipient: found {found} beside it" in result.output
    result = run("report", str(folder), "--kind", "investor", "--recipient", "buyer", "--out", str(out))
    assert "--recipient: found it without --sent; allowed: with both, or neither" in result.output


def test_no_record_is_kept_in_the_folder_of_a_case(folder, tmp_path):
    to = ["--recipient", "buyer", "--sent", str(folder / "sent")]
    result = run("release", str(folder), "--edition", "investor", *to, "--out", str(tmp_path / "it.yaml"))
    assert result.exit_code == 2
    assert "a place in the folder of the case" in result.output
    assert not (folder / "sent").exists()
    assert not (tmp_path / "it.yaml").exists()


@pytest.mark.slow
def test_a_clean_check_is_kept_as_an_empty_file_and_any_change_is_checked_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    done = []
    check_of = leak_check.check_of
    monkeypatch.setattr(leak_check, "check_of", lambda *of: done.append(of) or check_of(*of))
    dear = replaced(marked(USED), {PRICE: 90.0})
    for expected in (1, 1):  # checked, then known
        assert leak_check.refuse_leaks(demo(), "licensee", keep=True) == []
        assert len(done) == expected
    for number, (case, widened) in enumerate([(dear, ()), (dear, WIDENED), (replaced(dear, {PRICE: 91.0}), WIDENED)], start=2):
        assert leak_check.refuse_leaks(case, "licensee", widened, keep=True) == []
        assert len(done) == number
    kept = list((tmp_path / "costmodel" / "checked").iterdir())
    assert len(kept) == 4
    assert {path.stat().st_size for path in kept} == {0}


@pytest.mark.slow
def test_an_edition_that_was_refused_is_checked_and_refused_again(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    case = marked("line.output.takt", to="licensee")
    for _ in range(2):
        with pytest.raises(InputFaults, match=r"process\.takt gives line\.output\.takt"):
            leak_check.refuse_leaks(case, "licensee", keep=True)
    assert not (tmp_path / "costmodel").exists()
