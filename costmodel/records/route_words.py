"""What each field of a route, its steps and its other costs means, in the words that an editor shows beside it."""

from __future__ import annotations

from typing import Any

from pydantic import GetJsonSchemaHandler

ALL = {
    "name": "what it is called, once in its list; other places name it by this",
    "title": "how tables and pages call it",
    "items": "what each part uses up here beside machine, hands and tools",
    "inspection": "hands-on time of inspecting each part that enters the step, beside the machine's time",
    "inspection_per_lot": "hands-on time of inspection once a lot, whatever its size",
    "sampled_inspection": "hands-on time for each part of the sample that ISO 2859-1 asks of the lot, single normal "
    "plan at an acceptable quality limit of 1.0 %, the only one whose table is held",
    "inspection_level": "general inspection level of the sample: the higher, the larger",
    "salvage": "what a part lost here fetches",
    "rework": "what is done with the rejects",
    "kind": "what sort of row it is; the other fields follow from it",
    "labour": "grade of labour, a row of labour.csv",
    "set_up": "hands-on time once a lot, however many parts it has; it does not learn",
    "step_yield": "good parts out over parts in",
    "series": "index series of indices.csv that its price follows; left out for a price that stays",
    "source": "where the figure comes from",
    "status": "how well the figure is known",
    "owner": "who answers for the figure",
    "element": "what sort of cost it is, so that none is counted twice",
}

BY_RECORD = {
    "Item": {"cost": "what a part takes of it"},
    "Rework": {
        "reworkable": "share of the rejects that can be tried again",
        "success": "share of the reworked that are then good",
        "labour": "grade of labour that reworks, a row of labour.csv",
        "hands_on": "hands-on time of one rework",
        "cost": "what one rework uses up",
        "repeat": "whether a failed rework is tried again",
    },
    "MachineStep": {
        "machine": "the machine, a row of machines.csv",
        "parts_per_load": "parts clamped at once; what occurs per load is shared by them",
        "loads": "whether the last load of a lot is filled up with other parts and charged by its share (shared), or "
        "run for this lot alone (whole)",
        "cuts": "what one tool does after another in each part; tools change where two cuts that follow differ, "
        "counted around the cycle",
        "cuts_from": "takes the cuts of another step, as route.step, instead of cuts",
        "programme": "measured machine time of a load, instead of cuts; tool changes within it are part of it",
        "probing": "machine time of probing a load",
        "index_moves": "moves of the rotary or tilting axis in a load, all its parts together, each at the machine's "
        "index_time",
        "feeds_bar": "the machine draws its next blank from a bar, each part at bar_advance and each bar at "
        "bar_change, and opens no door",
        "set_up": "time of machine and hands once a lot, to the first good part; it does not learn",
        "loading": "outside: on another pallet while the machine runs; inside: the machine waits",
        "hands_on": "hands-on time to unload and load one load",
        "attendance": "share of the machine's running time, loading apart, in which a person must stand by",
        "tended_during": "the step in whose standing-by this step's hands-on work is done; steps that name the "
        "same one share its time in their order",
        "machines_tended": "machines that one person serves in turn; each waits where the round takes longer than its "
        "cycle",
        "walk": "hands-on time of walking between machines, each load",
        "calls": "whether machines tended together call at even intervals or at random",
        "operator": "grade of labour, a row of labour.csv; left out for the machine's own",
        "fixture": "the once-cost that says how many parts it holds and what it weighs",
        "failure_spoils": "what a tool that fails takes with it while somebody is there: its part or its load",
        "failure_stop": "time of machine and hands that each failed tool stops",
        "unattended_share": "share of the loads that run without a person",
        "unattended_loads": "loads that run one after another before somebody comes",
        "detection": "chance that a spoilt load is noticed at its end without a person, which stops the machine",
        "step_yield": "good parts out over parts in; losses by tools that state how they scatter are left out",
    },
    "OutsideStep": {
        "processor": "who does it, a row of processors.csv, with price, minimum, yield and turnaround",
        "charged_rejects": "whether parts that it spoils are charged too",
        "labour": "grade of labour that inspects what comes back, a row of labour.csv",
    },
    "BenchStep": {"hands_on": "hands-on time for each part"},
    "Once": {
        "cost": "what it costs bought, instead of hours",
        "hours": "hours of hands to make it here, at the grade in labour",
        "machine": "the machine on which it is made, a row of machines.csv",
        "machine_hours": "hours of that machine",
        "material": "material of something made here",
        "share": "our part of what several parts use",
        "other_volume": "what the other parts that use it need a year, instead of share",
        "end_value": "what it fetches at the end of the horizon",
        "month": "month from the decision in which it is paid; 0 for at once",
        "holds": "parts that a fixture holds at once",
        "mass": "mass of a fixture with its pallet",
    },
    "RampUp": {
        "weeks": "weeks until the route has its own yield",
        "first_yield": "good parts out over in, of the whole route in the first week",
        "good_per_week": "good parts wanted each week meanwhile",
        "learning_rate": "time of a part when the number made has doubled, as a share of that before; hands-on work of "
        "parts and loads only, set-ups and machines do not learn",
        "learned_at": "the part at which the times of the steps are reached",
        "learning": "whether the curve is of the time of one part (crawford) or of the average of all (wright)",
    },
    "Yearly": {
        "cost": "what is paid a year",
        "element": "what sort of cost it is; left out, a name with maintenance, energy, space or consumables in it "
        "counts as that, and is refused where the machine-hour holds it",
    },
    "Route": {
        "steps": "what is done one after another",
        "once": "what is paid once for this route",
        "yearly": "what is paid every year for this route",
        "ramp_up": "what learning to make the part costs once",
        "lead_time": "calendar time from order to part on the shelf",
        "lead_time_sd": "standard deviation of the lead time",
        "stops": "stops expected a year in which nothing is made",
        "stop_time": "how long a stop lasts",
        "maturity": "how far the times are worked out",
        "time_factor": "what programme time is multiplied by until it is measured",
    },
}


def meaning(record: str, field: str) -> str:
    """What a field means in a record of a route."""
    return BY_RECORD.get(record, {}).get(field) or ALL[field]


class Explained:
    """A record whose schema tells what each field means."""

    @classmethod
    def __get_pydantic_json_schema__(cls, core_schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """The schema with what each field means, for an editor that shows it."""
        schema: dict[str, Any] = handler.resolve_ref_schema(handler(core_schema))
        for name, field in schema["properties"].items():
            words = [meaning(cls.__name__, name), field.get("description", "")]
            field["description"] = "; ".join(word for word in words if word)
        return schema
