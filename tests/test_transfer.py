"""The transfer as a project: schedule by hand, spread, gates, load, starts, delay; refusals, oddities, words, charts, commands."""

from __future__ import annotations

import dataclasses
import json
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner

from costmodel.case.changes import with_values
from costmodel.case.load import load_case
from costmodel.case.transfer_records import TransferTask
from costmodel.case.whole_case import with_held
from costmodel.command.main import main
from costmodel.core.faults import InputFaults
from costmodel.core.units import to_base
from costmodel.model.evaluate import evaluate
from costmodel.present import transfer_charts, transfer_report
from costmodel.present.numbers import people
from costmodel.studies.negotiation.guarantee_set import promises
from costmodel.studies.negotiation.organisation_load import conflicts, loads, start_in
from costmodel.studies.negotiation.transfer_oddities import NEAR, _odd_dates, odd_transfer
from costmodel.studies.negotiation.transfer_spread import drawn_durations, gate_draws, transfer_spread

from .cases import FIELD, demo
from .plans import planned
from .transfer_laws import violated_by_transfer
from .transfers import transfer_inputs, transferred

MONTH, DAY = to_base("month"), to_base("day")


def project():
    return evaluate(transferred()).deal.transfer


def in_months(record, *names):
    return pytest.approx([getattr(record, name) / MONTH for name in names], abs=1e-9)


def test_the_schedule_by_hand():
    """drawings 0 to 2, tools 2 to 6, hall 0 to 5, runs from 6, as tools end last, to 7, test to 9; papers may wait."""
    found, windows = project(), ("earliest_begin", "earliest_finish", "latest_begin", "latest_finish", "total_float")
    by_hand = {"drawings": (0, 2, 0, 2, 0), "hall": (0, 5, 1, 6, 1), "tools": (2, 6, 2, 6, 0), "runs": (6, 7, 6, 7, 0),
               "test": (7, 9, 7, 9, 0), "papers": (2, 3, 8, 9, 6)}  # fmt: skip
    for name, wanted in by_hand.items():
        assert list(wanted) == in_months(found.tasks[name], *windows), name
    assert in_months(found, "finish") == [9.0]
    assert in_months(found.gates["frozen"], "time") == [2.0]
    assert in_months(found.gates["passed"], "time") == [9.0]
    assert list(found.tasks) == list(transferred().transfer_tasks)  # in the order of the table, which is not that of time


def test_expected_times_by_hand():
    """Hall (4 + 20 + 12) / 6 = 6, drawings 2 and tools 4: both paths reach 6, so the larger variance counts.

    That of the hall is (8 / 6)^2 = 16/9, of drawings and tools (2 / 6)^2 each: 2/9. Runs (0.5 + 4 + 4.5) / 6 = 1.5, with
    (4 / 6)^2 = 4/9; test 2, 1/9. So 9.5 months and a variance of 21/9.
    """
    found = project()
    assert in_months(found, "expected_finish", "deviation") == [9.5, (21 / 9) ** 0.5]
    assert in_months(found.tasks["hall"], "expected_duration", "expected_finish", "deviation") == [6.0, 6.0, 16 / 12]
    assert in_months(found.tasks["tools"], "expected_duration", "expected_finish", "deviation") == [4.0, 6.0, (2 / 9) ** 0.5]
    assert in_months(found.tasks["runs"], "expected_finish", "deviation") == [7.5, (20 / 9) ** 0.5]
    assert in_months(found.gates["frozen"], "expected_time", "deviation") == [2.0, 1 / 3]


def test_the_work_by_hand():
    """8 and 6 days of engineers at 500 EUR, 2 and 4 of testers at 500 USD; 10 and 6 days a month are free for 9 months."""
    found, rate = project(), transferred().money["usd"].exchange_rate
    work = found.deliveries["work"]
    assert work.staff_days / DAY == pytest.approx(20.0)
    assert work.pilot_days / DAY == pytest.approx(2.0)
    assert work.staff_cost == pytest.approx(14 * 500 + 6 * 500 * rate)
    assert (work.staff_days_missing / DAY, work.pilot_days_missing / DAY) == (pytest.approx(0.0), pytest.approx(0.0))
    engineers, testers = found.resources["engineers"], found.resources["testers"]
    assert (engineers.home_days / DAY, engineers.site_days / DAY) == (pytest.approx(8.0), pytest.approx(6.0))
    assert engineers.mean_load == pytest.approx(14 / (10 * 9))
    assert testers.mean_load == pytest.approx(6 / (4 * 9))


def test_two_paths_of_one_length_end_later_than_either_by_the_draws():
    """Two equal independent tasks, triangular from 0 to 2 about 1: the mean of the later one is 1 + 7 / 30.

    The distribution is x^2 / 2 up to 1 and 1 - (2 - x)^2 / 2 above; that of the later one is its square. The mean is 2 less the
    integral of the square: 1 / 20 up to 1, and 1 - 1 / 3 + 1 / 20 above. By the longest path it would be 1.
    """
    inputs = transfer_inputs()
    origin = inputs.tables["transfer_tasks.csv"][1][7:]
    inputs.tables["transfer_tasks.csv"] = [
        inputs.tables["transfer_tasks.csv"][0],
        *([name, name, "work", "start", "0.0001", "1", "1.9999", *origin] for name in ("one", "other")),
    ]
    for file in ("transfer_work.csv", "transfer_gates.csv", "fees.csv", "acceptance_dates.csv"):
        del inputs.tables[file]
    found = transfer_spread(inputs.load(), 200_000)
    assert found.mean / MONTH == pytest.approx(1 + 7 / 30, abs=0.004)
    assert found.criticality["one"] == pytest.approx(0.5, abs=0.005)
    assert sum(found.criticality.values()) == pytest.approx(1.0)


def test_draws_of_a_task_do_not_depend_on_other_tasks():
    rows = transferred().transfer_tasks
    alone = drawn_durations({"hall": rows["hall"]}, 100, 5, "beta")["hall"]
    assert np.array_equal(alone, drawn_durations(rows, 100, 5, "beta")["hall"])
    assert not np.array_equal(alone, drawn_durations(rows, 100, 6, "beta")["hall"])


def test_a_gate_passed_by_its_planned_date_by_draws_and_by_formula():
    """It is planned for month 9; by formula the gate is normal about 9.5 months: a share of 37.2 % below -0.5 / 1.5275."""
    gate = transfer_spread(transferred()).gates["passed"]
    assert gate.in_time_by_formula == pytest.approx(0.3717, abs=5e-4)  # normal table at -0.3273
    assert 0.03 < gate.in_time < gate.in_time_by_formula  # the draws keep the shorter path
    # drawings alone, triangular from 1 to 3 about 2: even odds
    assert transfer_spread(transferred()).gates["frozen"].in_time == pytest.approx(0.5, abs=0.02)


def test_an_instalment_follows_its_gate_by_hand():
    """40,000 EUR, a month after the gate in month 9: month 10, a third of a quarter after quarter 3. 80 % by 90 % of it."""
    paid = evaluate(transferred()).plan.payments["fee_first"].quarters
    expected = 40_000 * 0.8 * 0.9
    assert [paid[f"q{k:03d}"] for k in range(6)] == pytest.approx([0, 0, 0, expected * 2 / 3, expected / 3, 0])


def test_a_later_gate_moves_its_instalment_and_a_dated_fee_stays():
    """Tools two months longer: the gate in month 11, the instalment in month 12."""
    longer = {"most_likely": 6 * MONTH, "pessimistic": 7 * MONTH}
    later = with_values(transferred(), {f"transfer_tasks.tools.{name}": time for name, time in longer.items()})
    paid = evaluate(later).plan.payments["fee_first"].quarters
    assert [paid[f"q{k:03d}"] for k in range(6)] == pytest.approx([0, 0, 0, 0, 28_800, 0], abs=1e-6)
    inputs = transfer_inputs().cell("fees.csv", "first", "counted_from", "first_day").cell("fees.csv", "first", "time", "9")
    paid = evaluate(inputs.load()).plan.payments["fee_first"].quarters
    assert [paid[f"q{k:03d}"] for k in range(6)] == pytest.approx([0, 0, 0, 36_000, 0, 0])  # 90 % of it, whatever the gate


def test_a_guaranteed_date_is_that_of_its_gate_by_hand():
    """Gate at 9.5 months with a variance of 21/9, half a month after it with 1: 10 months, variance 30/9, guaranteed for 11.

    1 / 1.825742 = 0.547723 deviations of spare: 29.19 % are later (normal table: 0.2919).
    """
    found = evaluate(transferred()).deal.acceptance_dates["passed"]
    assert in_months(found, "expected", "spread") == [10.0, (30 / 9) ** 0.5]
    assert found.probability == pytest.approx(0.2919, abs=1e-4)


def test_a_guaranteed_date_is_drawn_with_the_gate_of_the_project():
    """Without what comes after it, each draw is that of the project, from the same seed; with it, later and wider."""
    case = transferred()
    alone = with_values(case, {"acceptance_dates.passed.expected": 0.0, "acceptance_dates.passed.spread": 0.0})
    (date,) = promises(alone, draws=2_000, seed=3)[1]
    assert np.array_equal(date.results, gate_draws(case, "passed", 2_000, 3))
    ends = transfer_spread(case, 2_000, 3)
    assert np.quantile(date.results, 0.5) == ends.gates["passed"].quantiles[1].value
    (wider,) = promises(case, draws=2_000, seed=3)[1]
    assert wider.results.mean() / MONTH == pytest.approx(date.results.mean() / MONTH + 0.5, abs=0.1)
    assert wider.results.std() > date.results.std()


def test_sampling_leaves_quantiles_of_the_finish_as_open_as_it_says():
    # one triangular task, 2 to 3 to 6: the lowest tenth ends where (x - 2)^2 / (4 x 1) = 1 / 10, the highest where
    # (6 - x)^2 / (4 x 3) = 1 / 10; 95 % of 200 seeds hold each, less three standard errors
    exact = [2 + 0.4**0.5, 6 - 6**0.5, 6 - 1.2**0.5]
    case = dataclasses.replace(transferred(), transfer_tasks={"a": TransferTask("", "", "start", 2.0, 3.0, 6.0)}, transfer_gates={})
    found = [transfer_spread(case, 400, seed).finish for seed in range(200)]
    for place, wanted in enumerate(exact):
        assert sum(each[place].low <= wanted <= each[place].high for each in found) >= 0.904 * 200
    assert [each.share for each in found[0]] == [0.1, 0.5, 0.9]
    low, middle, high = found[0]
    half = max(each.reach for each in (low, middle, high)) / to_base("month")
    assert transfer_report.sampling(found[0]) == f"Sampling leaves each quantile within ± {people(half, 1)} months (95 %)."


def test_durations_that_are_certain_do_not_spread():
    case = transferred()
    rows, ends = case.transfer_tasks.items(), ("optimistic", "pessimistic")
    exact = {f"transfer_tasks.{name}.{end}": row.most_likely for name, row in rows for end in ends}
    found = transfer_spread(with_values(case, exact), 100)
    assert [each.value / MONTH for each in found.finish] == pytest.approx([9.0] * 3)
    assert found.deviation == pytest.approx(0.0, abs=1e-6)
    assert found.gates["passed"].in_time_by_formula == 1.0


def test_the_load_by_hand():
    """Engineers: 4 days a month for drawings in months 1 and 2, 6 for runs in month 7. Others: 4 for 1.5 months; 2 expected."""
    engineers, testers, line = loads(transferred())
    assert engineers.own.tolist() == pytest.approx([4, 4, 0, 0, 0, 0, 6, 0, 0])
    assert engineers.others.tolist() == pytest.approx([4, 2 + 2, 2, 0, 0, 0, 0, 0, 0])
    assert engineers.others_if_all.tolist() == pytest.approx([4, 2 + 8, 8, 0, 0, 0, 0, 0, 0])
    assert engineers.over(all_come=True).tolist() == pytest.approx([0, 4, 0, 0, 0, 0, 0, 0, 0])
    assert engineers.over(all_come=False).tolist() == pytest.approx([0.0] * 9)
    assert testers.own.tolist() == pytest.approx([0, 0, 0, 0, 0, 0, 2, 2, 2])
    assert line.own.tolist() == pytest.approx([1, 1, 0, 0, 0, 0, 0, 0, 0])
    assert line.total(all_come=False).tolist() == pytest.approx([1.5, 1.5, 0.5, 0.5, 0.5, 0.5, 0, 0, 0])


def test_the_first_start_by_hand():
    """With all that may come, month 2 has 4 + 2 + 8 days for 10 that are free. A month later: 4 + 8 in its month 2. Then 4 + 0."""
    case = transferred()
    found = start_in(case, 0)
    assert found.conflicts[0] == ()
    assert [(each.resource, each.month, round(each.over, 9), each.commitments) for each in found.conflicts[1]] == [
        ("engineers", 1, 4.0, ("first", "offer"))
    ]
    assert found.first == (0, 3)
    beside = start_in(case, 0, beside=True)  # 8 + 4 days of engineers in month 1, 12 in month 7
    assert {each.month for each in beside.conflicts[0] if each.resource == "engineers"} == {0, 1, 6}
    first = [each.commitments for each in beside.conflicts[0] if (each.resource, each.month) == ("engineers", 0)]
    assert first == [("first",)]  # the offer begins a month later
    assert ("line", 0) in {(each.resource, each.month) for each in beside.conflicts[0]}  # 2 and a half of 2


def test_the_resource_that_is_over_by_most_is_named_first_with_its_commitments_of_that_month():
    case = transferred()
    found = start_in(case, 0, beside=True)
    most = max(found.conflicts[0], key=lambda each: each.over)
    named = [line for line in transfer_report.start_words(case, found) if "is over what is free" in line]
    assert named[0].startswith(f"“{case.transfer_resources[most.resource].title}” is over what is free in ")
    assert f"by up to {people(most.over)} days a month." in named[0]
    titles = {each: case.transfer_resources[each.resource].title for each in found.conflicts[0]}
    overs = [max(each.over for each, title in titles.items() if f"“{title}”" in line) for line in named]
    assert overs == sorted(overs, reverse=True)
    alone = dataclasses.replace(most, commitments=())
    words = transfer_report.start_words(case, dataclasses.replace(found, conflicts=((alone,), ())))
    assert words[-1].endswith(f"Commitments in the worst month, {transfer_report.calendar(case, most.month)}: none.")


def test_a_month_counts_for_the_transfer_that_begins_last():
    # month 2 is overloaded by the first transfer alone; the second begins in month 6, when all is free
    assert next((each.resource, each.month) for each in conflicts(transferred(), (0.0,), True)) == ("engineers", 1)
    assert [each.month for each in conflicts(transferred(), (0.0, 5.0), True) if each.resource == "engineers"] == []


def test_a_case_with_one_resource_has_the_conflicts_of_that_one():
    case = transferred()
    alone = {
        name: {key: row for key, row in getattr(case, name).items() if row.resource == "engineers"}
        for name in ("transfer_work", "commitments")
    } | {"transfer_resources": {"engineers": case.transfer_resources["engineers"]}}  # fmt: skip
    wanted = [each for each in conflicts(case, (0.0,), True) if each.resource == "engineers"]
    assert wanted
    assert list(conflicts(with_held(case, alone), (0.0,), True)) == wanted


def test_a_resource_that_the_work_alone_exceeds_has_no_start():
    case = with_values(transferred(), {"transfer_resources.testers.available": 1.5 * DAY / MONTH})
    assert start_in(case, 0).first == (None, None)
    said = transfer_report.start_words(case, start_in(case, 0))
    assert any("the work alone exceeds what is free" in line for line in said)


def test_the_laws_hold():
    assert violated_by_transfer(transferred()) == []
    assert violated_by_transfer(demo()) == []


def test_a_case_without_tasks_has_no_project_and_tasks_move_no_gain():
    assert evaluate(planned()).deal.transfer is None
    with_tasks, without = (transfer_inputs().cell("fees.csv", "first", "counted_from", "first_day") for _ in range(2))
    for inputs in (with_tasks, without):
        del inputs.tables["acceptance_dates.csv"]
    for file in [file for file in without.tables if file.startswith(("transfer_", "commitments"))]:
        del without.tables[file]
    one, other = (evaluate(each.load()).deal for each in (with_tasks, without))
    assert (one.licensor, one.licensee, one.gain) == (other.licensor, other.licensee, other.gain)


@pytest.mark.parametrize(("change", "said"), [
    (lambda i: i.cell("transfer_tasks.csv", "tools", "after", "drawing"),
     "transfer_tasks.csv, row 6, column 'after': found 'drawing'; allowed: ids of transfer_tasks.csv, or 'start' alone; did you "
     "mean 'drawings'?"),
    (lambda i: i.cell("transfer_tasks.csv", "tools", "after", "start; drawings"),
     "transfer_tasks.csv, row 6, column 'after': found 'start'; allowed: ids of transfer_tasks.csv, or 'start' alone"),
    (lambda i: i.cell("transfer_tasks.csv", "tools", "after", "drawings; drawings"),
     "transfer_tasks.csv, row 6, column 'after': found 'drawings' twice; allowed: each once"),
    (lambda i: i.cell("transfer_tasks.csv", "drawings", "after", "test"),
     "transfer_tasks.csv, row 2, column 'after': found tasks that wait for each other in a ring, or for it: test, drawings, "
     "papers, tools, runs; allowed: an order in which each can be done"),
    (lambda i: i.cell("transfer_tasks.csv", "tools", "optimistic", "4.5"),
     "transfer_tasks.csv, row 6, column 'optimistic': found a duration above the most likely one; allowed: optimistic <= "
     "most_likely"),
    (lambda i: i.cell("transfer_tasks.csv", "tools", "pessimistic", "3.5"),
     "transfer_tasks.csv, row 6, column 'pessimistic': found a duration below the most likely one; allowed: pessimistic >= "
     "most_likely"),
    (lambda i: i.cell("transfer_tasks.csv", "tools", "delivery", "works"),
     "transfer_tasks.csv, row 6, column 'delivery': found 'works'; allowed: an id of deliveries.csv, or 'licensee'; did you mean "
     "'work'?"),
    (lambda i: i.cell("fees.csv", "first", "counted_from", "pased"),
     "fees.csv, row 2, column 'counted_from': found 'pased'; allowed: an id of transfer_gates.csv, or 'first_day'; did you mean "
     "'passed'?"),
    (lambda i: i.cell("fees.csv", "first", "counted_from", ""),
     "fees.csv, row 2, column 'counted_from': found nothing; allowed: the gate from which the time counts"),
    (lambda i: i.cell("fees.csv", "first", "credited", "50"),
     "fees.csv, row 2, column 'credited': found a part of a fee that is paid later than the upfront fee"),
    (lambda i: i.cell("fees.csv", "first", "time", "40"),
     "fees.csv, row 2, column 'time': found 4.083 years; allowed: before the end of the plan"),  # 9 and 40 months
    (lambda i: i.cell("acceptance_dates.csv", "passed", "counted_from", "first_day"),
     "acceptance_dates.csv, row 2, column 'counted_from': found an expected date from the first day, beside that of "
     "transfer_tasks.csv; allowed: the gate of acceptance, in 'expected' the time after it: frozen, passed"),
    (lambda i: [i.cell("acceptance_dates.csv", "passed", "spread", "0"), i.cell("acceptance_dates.csv", "passed", "counted_from",
      "frozen"), *(i.cell("transfer_tasks.csv", "drawings", each, "2") for each in ("optimistic", "pessimistic"))],
     "acceptance_dates.csv, row 2, column 'spread': found nothing, for a date that nothing else spreads; allowed: a time above 0"),
    (lambda i: i.cell("commitments.csv", "offer", "end", "1"),
     "commitments.csv, row 3, column 'end': found an end 0 months before or at the beginning; allowed: a time after the beginning"),
    (lambda i: i.other_yaml("plan.yaml", '"2027-03"', '"March"'),
     "plan.yaml, 'schedule.first_month': found 'March'; allowed: a year and a month, as 2027-01"),
    (lambda i: i.documents.pop("deal.yaml"), "transfer_tasks.csv without deal.yaml; allowed: both, or neither"),
])  # fmt: skip
def test_refusals(change, said):
    inputs = transfer_inputs()
    change(inputs)
    with pytest.raises(InputFaults) as refused:
        inputs.load()
    assert said in str(refused.value)


@pytest.mark.parametrize(("changes", "said"), [
    ({"transfer_work.runs.days": 9 * DAY},
     "deliveries.work.days is 20 days, the tasks of the delivery have 23 in transfer_work.csv"),
    ({"deliveries.work.pilot_time": 5 * DAY}, "deliveries.work.pilot_time is 5 days, the tasks have 2 in transfer_work.csv"),
    ({"transfer_gates.passed.probability": 0.96},
     "transfer_gates.passed.probability is 96 %, that of 'frozen', which comes before, is 95 %"),
    ({"acceptance_dates.passed.expected": 9 * MONTH},
     "acceptance_dates.passed.expected is 9 months after its gate, not from the first day"),
    ({"transfer_resources.engineers.day_cost": 900 / DAY},
     "deliveries.work: working days cost EUR 10,000 by their row, 14,100 by the resources of its tasks"),
    ({}, "deliveries.work runs in months 0 to 12, its tasks are planned for months 0 to 9"),
])  # fmt: skip
def test_what_contradicts_the_terms_is_odd(changes, said):
    case = with_values(transferred(), changes)
    assert said in list(odd_transfer(case, evaluate(case)))


def test_a_delivery_is_odd_once_it_is_off_by_more_than_a_month():
    found = SimpleNamespace(gates={}, finish=4 * MONTH, tasks={"a": SimpleNamespace(earliest_begin=0.0, earliest_finish=4 * MONTH)})
    case = SimpleNamespace(
        transfer_gates={}, guarantees={}, performance_guarantees={}, acceptance_dates={},
        transfer_tasks={"a": SimpleNamespace(delivery="work")},
        deliveries={"work": SimpleNamespace(begin=NEAR * MONTH, end=4 * MONTH)},
    )  # fmt: skip
    assert list(_odd_dates(case, found)) == []
    case.deliveries["work"].begin *= 1.001
    assert len(list(_odd_dates(case, found))) == 1


def test_work_for_a_task_of_the_licensee_is_odd_and_so_is_a_delivery_without_task():
    case = transfer_inputs().cell("transfer_tasks.csv", "drawings", "delivery", "licensee").load()
    assert "transfer_work.drawings is for 'drawings', which no delivery pays for" in list(odd_transfer(case, evaluate(case)))
    tasks = [("test", "licensee"), ("runs", "licensee"), ("drawings", "licensee"), ("papers", "licensee")]
    inputs = transfer_inputs()
    for name, whose in tasks:
        inputs.cell("transfer_tasks.csv", name, "delivery", whose)
    case = inputs.load()
    assert "deliveries.work has no task in transfer_tasks.csv" in list(odd_transfer(case, evaluate(case)))


def test_production_that_starts_off_the_gates_by_more_than_a_month_is_odd_on_either_side():
    """Basis 1.5, design 5, review 1, equipment 9, installation 3: 19.5 months; first runs of 1.5 make it 21."""
    early = "schedule.build_time is {} months, before 'installation' of transfer_tasks.csv is finished in month 19.5"
    late = "schedule.build_time is {} months, after gate 'first_module' of transfer_gates.csv is passed in month 21"
    for months, said in ((18.4, [early]), (18.5, []), (19.5, []), (22.0, []), (22.1, [late])):
        case = with_values(demo(), {"schedule.build_time": months * MONTH})
        told = [each for each in odd_transfer(case, evaluate(case)) if "build_time" in each]
        assert told == [each.format(f"{months:.4g}") for each in said]


@pytest.mark.parametrize("load", [demo, lambda: load_case(FIELD)], ids=["facade", "field"])
def test_the_demos_agree_with_themselves(load):
    assert list(odd_transfer(load(), evaluate(load()))) == []


def test_months_are_those_of_the_calendar_where_the_plan_states_the_first():
    case = transferred()
    assert [transfer_report.calendar(case, k) for k in (0, 9, 10)] == ["2027-03", "2027-12", "2028-01"]
    asked = ("1", "2027-03", "2028-02", "2027-02", "0", "2027-13", "soon")
    assert [transfer_report.month_of(case, each) for each in asked] == [0, 0, 11, None, None, None, None]
    undated = with_values(case, {"schedule.first_month": ""})
    assert (transfer_report.calendar(undated, 2), transfer_report.month_of(undated, "2027-03")) == ("month 3", None)


def test_charts_show_every_task_once_and_all_of_the_load():
    case, found = transferred(), project()
    drawn = transfer_charts.tasks_chart(case, found, transfer_spread(case))
    bars = [trace for trace in drawn["data"] if trace["type"] == "bar" and trace["name"] != "float"]
    shown = {name: (base, base + length) for t in bars for name, base, length in zip(t["y"], t["base"], t["x"])}
    assert shown["first runs"] == pytest.approx((6.0, 7.0))
    assert len(shown) == sum(len(trace["y"]) for trace in bars) == 6
    floating = next(trace for trace in drawn["data"] if trace.get("name") == "float")
    assert (floating["y"], floating["x"]) == (["papers", "hall made ready"], pytest.approx([6.0, 1.0]))
    load = transfer_charts.load_chart(case, loads(case))
    heights = {(t["yaxis"], t["name"]): sum(t["y"]) for t in load["data"] if t["type"] == "bar"}
    assert heights["y", "this transfer"] == pytest.approx(14.0)
    assert heights["y", "further if all come"] == pytest.approx(12.0)
    assert heights["y3", "commitments by probability"] == pytest.approx(3.0)


def made(tmp_path):
    (tmp_path / "case").mkdir()
    return tmp_path / "case"


def asked(*words):
    ran = CliRunner().invoke(main, ["transfer", *map(str, words)])
    return ran.exit_code, ran.output


def test_the_command_answers(tmp_path):
    folder = transfer_inputs().write(made(tmp_path))
    code, said = asked(folder, "--chart", tmp_path / "tasks.html")
    assert (code, (tmp_path / "tasks.html").exists()) == (0, True), said
    assert "At most likely durations the transfer takes 9.0 months." in said
    code, said = asked(folder, "gates")
    assert code == 0
    said = " ".join(said.split())
    assert "It is passed at all with a probability of 80 %, as stated; by its planned date with " in said
    assert "It pays EUR 40,000, counted by the first of the two and dated in month 10.0, 1.0 months after it." in said
    code, said = asked(folder, "load", "--load-chart", tmp_path / "load.html")
    assert (code, (tmp_path / "load.html").exists()) == (0, True), said
    over = "“engineers”: 1 month above what is free if all commitments come, the most in 2027-04 by 4.00 days."
    assert over in " ".join(said.split())
    code, said = asked(folder, "start", "--month", "2027-03")
    assert code == 0
    assert "can begin in 2027-03" in said
    code, said = asked(folder, "start", "--month", "May")
    assert (code, "allowed: a number from 1 to 121, or a month from 2027-03 on" in " ".join(said.split())) == (2, True)
    code, said = asked(folder, "delay", "--months", "2")
    assert code == 0
    assert "2 months of delay moves" not in said
    assert "2 months of delay move the licensor's gain" in said
    assert asked(folder, "work")[0] == 0


def test_programs_read_figures_and_tables(tmp_path):
    folder = transfer_inputs().write(made(tmp_path))
    figures = json.loads(asked(folder, "--json")[1])
    assert figures["deal.transfer.finish"]["value"] == pytest.approx(9.0)
    assert figures["deal.transfer.finish"]["unit"] == "month"
    assert all(address.startswith("deal.transfer.") for address in figures)
    shown = json.loads(asked(folder, "load", "--json")[1])
    assert shown["tables"][1]["rows"][0]["row"] == "2027-03"


def test_a_case_without_a_project_says_so(tmp_path):
    from .plans import plan_inputs

    folder = plan_inputs().write(made(tmp_path))
    for subject in ([], ["gates"], ["work"], ["load"], ["start"], ["delay"]):
        code, said = asked(folder, *subject)
        assert code == 0
        assert "no transfer_tasks.csv" in " ".join(said.split())
