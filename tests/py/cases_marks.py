"""What each touch of the reference case leaves in the record, written by hand from docs/record.md: a key is
named as the mark that it makes."""

CHECK, FIT, UNKNOWN = ("compr_stop", {"reason": "rhythm_check"}), ("compr_stop", {"reason": "device_fit"}), (
    "compr_stop", {"reason": "unknown"})
HAND, DEVICE = ("compr_start", {"by": "manual"}), ("compr_start", {"by": "mechanical"})
SHOCK, NO_SHOCK = ("shock", {"timed": False, "by": "us"}), ("no_shock", {})

OF_KEY = {
    "Began Earlier": [("arrest", {"basis": "reported"}), HAND],
    "Pads On": [("pads", {"connected": True})],
    "Shocked, Back On": [SHOCK, HAND],
    "No Shock, Back On": [NO_SHOCK, HAND],
    "No Shock": [NO_SHOCK],
    "Epi In": [("drug", {"drug": "adrenaline"})],
    "Fit Device": [("fit", {"step": "open_on"})],
    "Hands On": [HAND],
    "Device Running": [DEVICE],
    "Cup Good": [("cup", {"act": "good"})],
    "Airway In": [("airway", {"act": "in", "device": "sga"})],
    "Moving": [("move", {"act": "begin"})],
    "Set Down": [("move", {"act": "set_down"})],
    "Re-seat": [("cup", {"act": "reseat"}), ("compr_stop", {"reason": "device_reseat"})],
    "Left Scene": [("times", {"which": "left_scene"})],
    "Power Swap": [("power", {"act": "swap_begin"})],
    "Swapped": [("power", {"act": "swap_end"})],
    "Paused": [CHECK],
    "Pulse Back": [("rosc", {})],
    "Undo": [("amend", {"op": "retract", "reason": "mis_tap"})],
    "Device Stopped": [("compr_stop", {"reason": "device_fault"})],
    "By Hand": [("rearrest", {"by": "manual"})],
    "Handed Over": [("end", {"outcome": "handed_over"})],
}
# Hands Off says why by the card that it stands on; back on, what compresses.
OF_TOUCH = {
    "reference-35": {
        "before": [("prior_care", {"began_min": 6})],
        "off_1": [CHECK], "off_2": [CHECK], "off_3": [CHECK], "off_8": [CHECK], "off_9": [CHECK],
        "off_fit_1": [FIT], "off_fit_2": [FIT], "off_fit_3": [FIT],
        "no_shock_7": [NO_SHOCK, DEVICE],
    },
    "three-minutes": {
        "off_1": [CHECK], "off_2": [CHECK], "off_3": [UNKNOWN], "off_fit_1": [FIT], "off_fit_2": [FIT],
    },
}


def marks_of(case, taps):
    """(alias, kind, fields) of every line of the crew that the case leaves, in order."""
    own = OF_TOUCH[case]
    return [(tap.alias, ev, d) for tap in taps if tap.makes != "nothing"
            for ev, d in own.get(tap.alias) or OF_KEY[tap.name]]


def compare_marks(case, taps, lines):
    """The record's crew lines, by kind and fields, against the list."""
    wanted = marks_of(case, taps)
    had = [(line["ev"], {k: v for k, v in line["d"].items() if k != "target"})
           for line in lines if line["src"] != "auto"]
    faults = [f"{alias}: the record has {ev} {d}, the case {kind} {fields}"
              for (alias, kind, fields), (ev, d) in zip(wanted, had, strict=False) if (kind, fields) != (ev, d)]
    if len(wanted) != len(had):
        faults.append(f"{len(had)} lines of the crew in the record, {len(wanted)} in the case")
    return faults
