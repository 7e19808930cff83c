//! The closed lists of the marks: each value with the record's word for it.

use serde::{Deserialize, Serialize};

use super::closed;

closed! {
    /// What makes the compressions.
    By { #[doc = "Hands."] Manual = "manual", #[doc = "The compression device."] Mechanical = "mechanical" }
}
closed! {
    /// Why hands are off.
    Reason {
        #[doc = "Rhythm check."] RhythmCheck = "rhythm_check",
        #[doc = "Pulse check."] PulseCheck = "pulse_check",
        #[doc = "Shock."] Shock = "shock",
        #[doc = "Breaths."] Ventilation = "ventilation",
        #[doc = "Airway work."] Airway = "airway",
        #[doc = "A line."] Access = "access",
        #[doc = "Ultrasound."] Ultrasound = "ultrasound",
        #[doc = "Another procedure."] Procedure = "procedure",
        #[doc = "Fitting the device."] DeviceFit = "device_fit",
        #[doc = "Setting the device right."] DeviceReseat = "device_reseat",
        #[doc = "Taking the device off."] DeviceOff = "device_off",
        #[doc = "The device stopped by itself."] DeviceFault = "device_fault",
        #[doc = "Changing the device's power pack."] Power = "power",
        #[doc = "Moving the patient."] Move = "move",
        #[doc = "Change of compressor."] Rotate = "rotate",
        #[doc = "Circulation came back."] Rosc = "rosc",
        #[doc = "Resuscitation was given up."] StopCare = "stop_care",
        #[doc = "Not said."] Unknown = "unknown",
    }
}
closed! {
    /// Breath mode: a fact of its own, apart from the airway.
    BreathMode { #[doc = "Compressions pause for breaths."] Ratio = "ratio", #[doc = "Breaths without a pause."] Continuous = "continuous", #[doc = "No breaths."] None = "none" }
}
closed! {
    /// Compressions to breaths.
    Ratio { #[doc = "30:2"] ThirtyTwo = "30:2", #[doc = "15:2"] FifteenTwo = "15:2", #[doc = "3:1"] ThreeOne = "3:1" }
}
closed! {
    /// Airway device.
    AirwayDevice { #[doc = "Oral airway."] Opa = "opa", #[doc = "Nasal airway."] Npa = "npa", #[doc = "Supraglottic."] Sga = "sga", #[doc = "Tube."] Ett = "ett", #[doc = "Front of neck."] Cric = "cric" }
}
closed! {
    /// How breaths get in.
    Via { #[doc = "Mask."] Mask = "mask", #[doc = "Supraglottic."] Sga = "sga", #[doc = "Tube."] Ett = "ett", #[doc = "Front of neck."] Cric = "cric" }
}
closed! {
    /// An airway act.
    AirwayAct { #[doc = "A try begins."] TryBegin = "try_begin", #[doc = "A try ends."] TryEnd = "try_end", #[doc = "It is in."] In = "in", #[doc = "It is out or leaks."] Lost = "lost" }
}
closed! {
    /// A cup act by the crew.
    CupAct { #[doc = "In place."] Good = "good", #[doc = "Slipped: seat it again."] Reseat = "reseat" }
}
closed! {
    /// Why the cup was looked at.
    CupWhy { #[doc = "After a move."] Move = "move", #[doc = "After a start."] Start = "start", #[doc = "After a power swap."] Power = "power", #[doc = "Strap."] Strap = "strap", #[doc = "At a check."] Check = "check", #[doc = "Other."] Other = "other" }
}
closed! {
    /// A move's act.
    MoveAct { #[doc = "Lifting off."] Begin = "begin", #[doc = "Set down."] SetDown = "set_down", #[doc = "Loaded."] Loaded = "loaded" }
}
closed! {
    /// A stage of the way out.
    Stage { #[doc = "Floor."] Floor = "floor", #[doc = "Scoop."] Scoop = "scoop", #[doc = "Stairs."] Stairs = "stairs", #[doc = "Stretcher."] Stretcher = "stretcher", #[doc = "Vehicle."] Vehicle = "vehicle", #[doc = "Other."] Other = "other" }
}
closed! {
    /// A power act.
    PowerAct { #[doc = "The pack comes out."] SwapBegin = "swap_begin", #[doc = "The new pack is in."] SwapEnd = "swap_end", #[doc = "A full pack is in."] Full = "full", #[doc = "On mains."] MainsOn = "mains_on", #[doc = "Off mains."] MainsOff = "mains_off" }
}
closed! {
    /// How a run ended.
    Outcome { #[doc = "Circulation came back."] Rosc = "rosc", #[doc = "Stopped."] Stopped = "stopped", #[doc = "Handed over."] HandedOver = "handed_over", #[doc = "It was no arrest."] NoArrest = "no_arrest" }
}
closed! {
    /// State line as set right by the crew.
    SetState { #[doc = "Compressing by hand."] Manual = "manual", #[doc = "Compressing by device."] Mechanical = "mechanical", #[doc = "Hands off."] HandsOff = "hands_off", #[doc = "Spontaneous circulation."] Pulse = "pulse", #[doc = "Not known."] Unknown = "unknown" }
}
closed! {
    /// What to take for the gap after a restart.
    Resume { #[doc = "As it was before the gap."] AsBefore = "as_before", #[doc = "The same patient, a new half."] SamePatient = "same_patient", #[doc = "Another patient."] NewPatient = "new_patient" }
}
closed! {
    /// Patient class.
    PatientClass { #[doc = "Adult."] Adult = "adult", #[doc = "Child."] Child = "child", #[doc = "Infant."] Infant = "infant", #[doc = "Newborn."] Newborn = "newborn" }
}
closed! {
    /// A change of the sound by the crew.
    SoundAct { #[doc = "Voice off."] VoiceOff = "voice_off", #[doc = "Voice off for two minutes."] VoiceOff2Min = "voice_off_2_min", #[doc = "Voice on."] VoiceOn = "voice_on", #[doc = "Beat off."] BeatOff = "beat_off", #[doc = "Beat on."] BeatOn = "beat_on", #[doc = "Levels set."] Level = "level", #[doc = "Levels set for a kind of place."] Preset = "preset" }
}
closed! {
    /// Levels for a kind of place.
    Preset { #[doc = "A quiet room."] QuietRoom = "quiet_room", #[doc = "A vehicle under way."] Vehicle = "vehicle" }
}
closed! {
    /// How arrest was known.
    ArrestBasis { #[doc = "Recognised by the crew."] Recognised = "recognised", #[doc = "Witnessed by the crew."] Witnessed = "witnessed", #[doc = "Reported to the crew."] Reported = "reported" }
}
closed! {
    /// How compressions by device were known.
    StartBasis { #[doc = "Seen."] Seen = "seen", #[doc = "Confirmed running."] ConfirmedRunning = "confirmed_running" }
}
closed! {
    /// What the monitor showed.
    RhythmSeen { #[doc = "VF."] Vf = "vf", #[doc = "Pulseless VT."] Pvt = "pvt", #[doc = "PEA."] Pea = "pea", #[doc = "Asystole."] Asystole = "asystole", #[doc = "Organised."] Organised = "organised", #[doc = "Shockable."] Shockable = "shockable", #[doc = "Not shockable."] NotShockable = "not_shockable", #[doc = "AED: shock."] AedShock = "aed_shock", #[doc = "AED: no shock."] AedNoShock = "aed_no_shock", #[doc = "Unknown."] Unknown = "unknown" }
}
closed! {
    /// A charge act.
    ChargeAct { #[doc = "Charging has begun."] Begun = "begun", #[doc = "The charge was dumped."] Dumped = "dumped" }
}
closed! {
    /// Who gave a shock.
    GivenBy { #[doc = "This crew."] Us = "us", #[doc = "Others."] Others = "others" }
}
closed! {
    /// A pulse check's result.
    Pulse { #[doc = "Present."] Present = "present", #[doc = "Absent."] Absent = "absent", #[doc = "Unclear."] Unclear = "unclear" }
}
closed! {
    /// A defibrillator's mode.
    ShockMode { #[doc = "It decides."] Aed = "aed", #[doc = "The crew decides."] Manual = "manual" }
}
closed! {
    /// Where pads are.
    PadPosition { #[doc = "Front and side."] FrontSide = "front_side", #[doc = "Front and back."] FrontBack = "front_back", #[doc = "A second set."] SecondSet = "second_set" }
}
closed! {
    /// A newborn's heart rate.
    HeartRate { #[doc = "Below 60 a minute."] Below60 = "below_60", #[doc = "60 to 100."] From60 = "from_60", #[doc = "Above 100."] Above100 = "above_100" }
}
closed! {
    /// Who compressed before this crew.
    PriorCpr { #[doc = "Nobody."] None = "none", #[doc = "A bystander."] Bystander = "bystander", #[doc = "Family."] Family = "family", #[doc = "A health worker."] Hcp = "hcp", #[doc = "First responders."] FirstResponder = "first_responder", #[doc = "Another crew."] OtherCrew = "other_crew" }
}
closed! {
    /// What a public defibrillator did before this crew.
    PriorAed { #[doc = "There was none."] None = "none", #[doc = "Applied."] Applied = "applied", #[doc = "It shocked."] Shocked = "shocked" }
}
closed! {
    /// Body temperature in the cold.
    TempBand { #[doc = "Below 30 degrees Celsius."] Below30 = "below_30", #[doc = "30 to 35."] From30To35 = "30_35", #[doc = "Above 35."] Above35 = "above_35" }
}
closed! {
    /// A prompt's task, for an answer without a mark.
    Task { #[doc = "The rhythm check."] Check = "check", #[doc = "The cup."] Cup = "cup", #[doc = "A drug."] Drug = "drug", #[doc = "The compressor's change."] Rotate = "rotate", #[doc = "The device's power."] Power = "power", #[doc = "A checkpoint by the minute."] Minute = "minute", #[doc = "The heart rate."] HeartRate = "heart_rate", #[doc = "The pulse looked at again."] Pulse = "pulse", #[doc = "Still running."] Still = "still", #[doc = "Still off."] StillOff = "still_off" }
}
closed! {
    /// A decision.
    DecisionWhat { #[doc = "A call to the control room."] CallControl = "call_control", #[doc = "Transport."] Transport = "transport", #[doc = "A call for extracorporeal help."] EcprCall = "ecpr_call", #[doc = "To stop."] Stop = "stop" }
}
closed! {
    /// A time of the mission.
    TimesWhich { #[doc = "The advanced crew arrived."] AlsArrival = "als_arrival", #[doc = "At the patient."] AtPatient = "at_patient", #[doc = "Off the floor."] OffFloor = "off_floor", #[doc = "Left the scene."] LeftScene = "left_scene", #[doc = "Hospital told."] Prealert = "prealert", #[doc = "At the destination."] AtDestination = "at_destination", #[doc = "Handed over."] Handover = "handover", #[doc = "Family told."] FamilyTold = "family_told" }
}
closed! {
    /// How an airway's place was confirmed.
    ConfirmBy { #[doc = "Waveform."] Waveform = "waveform", #[doc = "A number."] Digital = "digital", #[doc = "Colour."] Colorimetric = "colorimetric", #[doc = "Listening."] Auscultation = "auscultation", #[doc = "Chest rise."] ChestRise = "chest_rise", #[doc = "Looking."] Visual = "visual" }
}
closed! {
    /// A procedure's act.
    ProcedureAct { #[doc = "It begins."] Begin = "begin", #[doc = "It ends."] End = "end" }
}
closed! {
    /// A procedure.
    ProcedureWhat { #[doc = "Ultrasound."] Ultrasound = "ultrasound", #[doc = "Decompression."] Decompression = "decompression", #[doc = "Another."] Other = "other" }
}
closed! {
    /// How a compression device works.
    MechKind { #[doc = "A band."] Band = "band", #[doc = "A piston."] Piston = "piston", #[doc = "A piston on an arm."] PistonArm = "piston_arm", #[doc = "Another."] Other = "other" }
}
closed! {
    /// A clock that a mark is held against.
    ClockRef { #[doc = "The dispatch centre's."] Dispatch = "dispatch", #[doc = "The monitor's."] Monitor = "monitor", #[doc = "A wall clock."] Wall = "wall", #[doc = "Another."] Other = "other" }
}
