"""Several pump sets on one header. No published source."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left

OTHER = {
    "regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
    "set_point": q("85", "psi"), "wake_value": q("75", "psi"), "wake_basis": "absolute",
    "feedback_at_lower_signal": q("0", "psi"), "feedback_at_upper_signal": q("200", "psi"),
}  # fmt: skip


def group(ours: dict[str, object] | None = None, **theirs: object):
    """The booster as lead of a group of two, with a lag pump of its kind."""
    neighbour = {
        "pump_set": {"tag": "PS-102", "group": "G-1", "position_in_group": 2,
                     "regulating_sensor": "PT-101"},
        "settings": OTHER | theirs,
    }  # fmt: skip
    settings: dict[str, object] = {
        "pump_arrangement": "lead_lag", "pumps_in_group": 2, "pumps_maximum_running": 2,
        "stage_on_frequency": q("58", "Hz"), "stage_off_frequency": q("44", "Hz"),
        "failover": "fixed speed",
    } | (ours or {})  # fmt: skip
    document = changed(booster(), left(**settings) | {"/neighbours": [neighbour]})
    return changed(document, {"/pump_set/group": "G-1", "/pump_set/position_in_group": 1})


RULES = ("station.set-points-agree", "station.staging", "station.lead-lag",
         "station.shared-sensor")  # fmt: skip


@pytest.mark.parametrize("rule", RULES)
def test_a_good_group_is_silent(rule):
    assert verdicts(group(), rule) == []
    assert lacking(judged(group()), rule) == []


def test_what_another_set_has_in_another_kind_is_for_its_own_record():
    """Neither is a flow taken for a pressure, nor its own scaling."""
    for theirs in (
        {"set_point": q("100", "gpm"), "wake_value": q("90", "gpm")},
        {"set_point": q("50", "%"), "wake_value": q("45", "%"),
         "feedback_at_upper_signal": q("900", "gpm")},
    ):  # fmt: skip
        for rule in RULES:
            assert verdicts(group(**theirs), rule) == []


# -- station.set-points-agree ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("theirs", "expected"),
    [
        ({"set_point": q("87", "psi")}, []),  # 1 % of 200 psi
        ({"set_point": q("87.1", "psi")}, [("review", "differ")]),
        ({"set_point": q("42.5", "%")}, []),
        ({"set_point": q("45", "%")}, [("review", "differ")]),  # 90 psi
        ({"set_point": q("90", "psi"), "regulated_quantity": "suction_pressure"}, []),
    ],
)
def test_set_points_agree(theirs, expected):
    assert verdicts(group(**theirs), "station.set-points-agree") == expected


@pytest.mark.parametrize(
    ("theirs", "expected"),
    [
        ("78.9", [("review", "differ")]),
        ("79", []),
        ("85", []),  # alike, whatever the step
        ("91", []),
        ("91.1", [("review", "differ")]),
    ],
)
def test_a_step_of_staged_pumps_has_the_same_room(theirs, expected):
    """85 psi less or plus a step of 4 psi, and 2 psi to either side."""
    document = group({"stage_set_point_offset": q("4", "psi")}, set_point=q(theirs, "psi"))
    assert verdicts(document, "station.set-points-agree") == expected


@pytest.mark.parametrize(
    ("document", "asked"),
    [
        (group(set_point=q("90", "psi")), True),
        (without(group(), "/neighbours"), False),  # nobody to agree with
        (group({"regulation": "speed_from_external_controller"}), False),  # the controller's
    ],
)
def test_whose_set_point_is_asked_for(document, asked):
    unknown = changed(document, left(set_point=None))
    assert bool(lacking(judged(unknown), "station.set-points-agree")) is asked


def test_whose_set_point_differs_is_told():
    (found,) = of_rule(judged(group(set_point=q("88", "psi"))), "station.set-points-agree")
    told = {"ours": "85 psi", "theirs": "88 psi", "tag": "PS-102"}
    assert told.items() <= found.parameters.items()
    assert found.subject == "/neighbours/0/settings/set_point"
    assert found.limit == "1 % of span"


@pytest.mark.parametrize(
    "scaled",
    [
        {"feedback_at_lower_signal": None},
        {"feedback_at_upper_signal": None},
        {"feedback_at_lower_signal": q("0", "%")},
        {"feedback_at_upper_signal": q("100", "%")},
    ],
)
def test_a_share_of_an_unknown_scaling_says_nothing(scaled):
    document = group(set_point=q("70", "%"), wake_value=q("90", "%"), **scaled)
    for rule in ("station.set-points-agree", "station.lead-lag"):
        assert verdicts(document, rule) == []


def third(**settings: object):
    """One more pump set behind the second."""
    neighbour = {"pump_set": {"tag": "PS-103", "group": "G-1", "position_in_group": 3},
                 "settings": OTHER | settings}  # fmt: skip
    return {"/neighbours/-": neighbour}


def test_a_pump_set_that_says_nothing_hides_no_other():
    """The second keeps ours, one of another kind, or none at all; the third keeps 90 psi."""
    for second in ({}, {"set_point": q("100", "gpm")}, {"set_point": None}):
        document = changed(group(**second), third(set_point=q("90", "psi")))
        (found,) = of_rule(judged(document), "station.set-points-agree")
        assert found.parameters["tag"] == "PS-103"


def test_a_set_on_another_header_keeps_its_own_pressure():
    apart = {"/pump_set/discharge_header": "HD-1",
             "/neighbours/0/pump_set/discharge_header": "HD-2"}  # fmt: skip
    document = group(set_point=q("60", "psi"))
    assert verdicts(changed(document, apart), "station.set-points-agree") == []
    assert verdicts(document, "station.set-points-agree") == [("review", "differ")]


AGREE, AT = "station.set-points-agree", "/neighbours/0/settings"


@pytest.mark.parametrize(
    ("theirs", "needs"),
    [
        ({"set_point": None}, ("set_point",)),
        ({"regulated_quantity": None}, ("regulated_quantity",)),
        (
            {"set_point": q("42.5", "%"), "feedback_at_upper_signal": None},
            ("feedback_at_upper_signal",),
        ),
        ({"set_point": q("42.5", "%")}, ()),
        ({"regulated_quantity": "suction_pressure", "set_point": None}, ()),
        ({"regulation": "open_loop", "set_point": None}, ()),
        ({"set_point": q("100", "gpm")}, ()),  # of another kind: for that set's own record
    ],
)
def test_what_is_not_known_of_another_set_is_asked_for(theirs, needs):
    judgement = judged(group(**theirs))
    asked = [each.needs for each in lacking(judgement, AGREE)]
    assert asked == ([tuple(f"{AT}/{name}" for name in needs)] if needs else [])


def test_a_set_that_was_never_set_up_is_asked_for_unless_it_has_no_drive():
    never = {"pump_set": {"tag": "PS-102", "position_in_group": 2}}
    judgement = judged(changed(group(), {"/neighbours": [never]}))
    (missing,) = lacking(judgement, AGREE)
    assert missing.needs == (f"{AT}/regulated_quantity", f"{AT}/set_point")
    (missing,) = lacking(judgement, "station.lead-lag")
    assert missing.needs == (f"{AT}/wake_value",)
    without_one = {"pump_set": {"tag": "PS-102", "position_in_group": 2, "drive": None}}
    judgement = judged(changed(group(), {"/neighbours": [without_one]}))
    assert lacking(judgement, AGREE) == lacking(judgement, "station.lead-lag") == []


@pytest.mark.parametrize(
    ("gone", "needs"),
    [
        ({f"{AT}/wake_value": None}, f"{AT}/wake_value"),
        (
            {"/neighbours/0/pump_set/position_in_group": None},
            "/neighbours/0/pump_set/position_in_group",
        ),
    ],
)
def test_who_wakes_first_is_not_judged_without_its_place_and_value(gone, needs):
    judgement = judged(changed(group(), gone))
    assert [each.needs for each in lacking(judgement, "station.lead-lag")] == [(needs,)]


def test_a_pump_set_without_a_wake_value_hides_no_other():
    document = changed(group(wake_value=None), third(wake_value=q("80", "psi")))
    (found,) = of_rule(judged(document), "station.lead-lag")
    assert found.parameters["tag"] == "PS-103"


def test_an_offset_for_staged_pumps_is_meant():
    document = group({"stage_set_point_offset": q("4", "psi")}, set_point=q("81", "psi"))
    assert verdicts(document, "station.set-points-agree") == []


# -- station.staging ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ours", "expected"),
    [
        ({"stage_on_frequency": q("60", "Hz")}, []),
        ({"stage_on_frequency": q("60.1", "Hz")}, [("review", "never_on")]),
        ({"stage_off_frequency": q("58", "Hz")}, [("review", "order")]),
        ({"stage_off_frequency": q("57.9", "Hz")}, [("review", "cycles")]),
        ({"stage_off_frequency": q("35.9", "Hz")}, [("review", "never_off")]),
        ({"pumps_maximum_running": 3}, [("review", "too_many")]),
        ({"pumps_maximum_running": 1, "stage_on_frequency": q("70", "Hz")}, []),
    ],
)
def test_staging(ours, expected):
    assert verdicts(group(ours), "station.staging") == expected


def test_two_that_share_the_flow_run_slower_than_they_are_taken_away_at():
    """By hand, the pump's parabola H = 260 s^2 - 95 q^2 with q in 1000 gpm and s = f / 59.83 Hz.

    At 85 psi and the lowest suction 128.0 ft are held (module of sleep), at 58 Hz alone q =
    sqrt((260 x 0.9434 - 128.0) / 95) = 1.1133; half of it, 0.5567, needs s =
    sqrt((128.0 + 95 x 0.3099) / 260) = 0.7775, and with the slip of half the flow 46.3 Hz. At the
    highest suction (121.1 ft) 45.6 Hz.
    The curve through its points is a little off the parabola. HI engineering data, 1.B.6.
    """
    for off, expected in (("46.2", []), ("47.0", [("review", "cycles")])):
        settings = {"stage_off_frequency": q(off, "Hz")}
        assert verdicts(group(settings), "station.staging") == expected
    (found,) = of_rule(judged(group({"stage_off_frequency": q("50", "Hz")})), "station.staging")
    assert float(found.parameters["shared"].split()[0]) == pytest.approx(46.3, abs=0.1)


@pytest.mark.parametrize(
    "changes",
    [
        left(stage_set_point_offset=q("4", "psi")),
        {"/sensors/0/location": "remote"},
        {"/neighbours/0/pump": {"type": "end_suction", "rated_flow": q("500", "gpm"),
                                "rated_head": q("165", "ft")}},
        left(regulated_quantity="flow"),
    ],
)  # fmt: skip
def test_the_shared_speed_is_not_told_where_it_is_another(changes):
    document = changed(group({"stage_off_frequency": q("50", "Hz")}), changes)
    assert verdicts(document, "station.staging") == []


def test_staging_names_what_it_lacks():
    (missing,) = lacking(judged(without(group(), f"{LEFT}/stage_on_frequency")), "station.staging")
    assert missing.needs == (f"{LEFT}/stage_on_frequency",)


# -- station.lead-lag -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("theirs", "position", "expected"),
    [
        # We are in the first place and wake at 79 psi.
        ({"wake_value": q("78.9", "psi")}, 2, []),
        ({"wake_value": q("79", "psi")}, 2, [("note", "by_frequency")]),
        ({"wake_value": q("80", "psi")}, 2, [("note", "by_frequency")]),
        ({"wake_value": q("39", "%")}, 2, []),  # 78 psi
        ({"wake_value": q("6", "psi"), "wake_basis": "below_set_point"}, 2, []),
    ],
)
def test_lag_wakes_below_lead(theirs, position, expected):
    document = changed(group(**theirs), {"/neighbours/0/pump_set/position_in_group": position})
    assert verdicts(document, "station.lead-lag") == expected


def test_without_a_frequency_to_add_the_lag_pump_its_wake_value_has_to_wait():
    document = without(group(wake_value=q("79", "psi")), f"{LEFT}/stage_on_frequency")
    assert verdicts(document, "station.lead-lag") == [("review", "together")]


def test_of_two_in_the_same_place_none_is_the_lag():
    document = changed(
        group(wake_value=q("80", "psi")), {"/neighbours/0/pump_set/position_in_group": 1}
    )
    assert verdicts(document, "station.lead-lag") == []


@pytest.mark.parametrize(("ours", "theirs", "told"), [(1, 2, "lead"), (2, 1, "lag")])
def test_who_wakes_too_early_is_told(ours, theirs, told):
    wake = q("80" if told == "lead" else "75", "psi")
    document = changed(
        group(wake_value=wake),
        {"/pump_set/position_in_group": ours, "/neighbours/0/pump_set/position_in_group": theirs},
    )
    (found,) = of_rule(judged(document), "station.lead-lag")
    words = {"ours_is": told, "ours": "79 psi", "theirs": f"{wake['value']} psi", "tag": "PS-102"}
    assert words.items() <= found.parameters.items()
    assert found.subject == "/neighbours/0/settings/wake_value"


def test_the_lag_pump_sees_it_as_well():
    """Now we are the lag pump, woken at 79 psi, the lead pump at 75 psi."""
    document = changed(
        group(),
        {"/pump_set/position_in_group": 2, "/neighbours/0/pump_set/position_in_group": 1},
    )
    assert verdicts(document, "station.lead-lag") == [("note", "by_frequency")]


# -- station.shared-sensor ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("failover", "sensor", "expected"),
    [
        ("fixed speed", "PT-101", []),
        ("none", "PT-101", [("review", "alone")]),
        ("None ", "S-3301", [("review", "alone")]),  # the same sensor by its serial number
        ("none", "PT-102", []),
    ],
)
def test_shared_sensor(failover, sensor, expected):
    document = changed(
        group({"failover": failover}), {"/neighbours/0/pump_set/regulating_sensor": sensor}
    )
    assert verdicts(document, "station.shared-sensor") == expected


def test_shared_sensor_names_what_it_lacks():
    (missing,) = lacking(judged(without(group(), f"{LEFT}/failover")), "station.shared-sensor")
    assert missing.needs == (f"{LEFT}/failover",)


def test_a_set_alone_on_its_header_is_no_group():
    for rule in RULES:
        assert lacking(judged(booster()), rule) == []
