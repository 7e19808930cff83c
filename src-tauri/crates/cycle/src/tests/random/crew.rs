//! Random crews: most of what they do is what the screen offers, the rest is anything at all.

use super::super::*;
use super::any_mark::{all_kinds, any_mark};
use super::dice::Dice;
use super::phone::{Cause, Phone};
use super::told::Line;
use super::{Fault, Reached};
use super::{screen, speech};
use crate::fact::{Amend, AmendOp, AmendReason};
use crate::mark::{RunMark, SetState, kind_of};

/// One thing that happens.
#[derive(Clone, Debug)]
pub(super) enum What {
    /// Marks of one touch, and how long the finger had been down.
    Touch(Vec<Mark>, u64),
    Undo,
    Remove(usize),
    Earlier(usize, u64),
    Replace(usize, Mark),
    SetRight(SetState, u64),
    EndHeld,
    Dropped,
    Lost,
    Battery(u8, bool),
    Back,
    Kill(u64),
    Stall(u64),
    UndoProbe(Vec<Mark>, u64),
    RemoveProbe(usize),
    ReplayProbe,
}

/// When, and what.
pub(super) type Step = (u64, What);

pub(super) const WAYS: [Way; 4] = [Way::Hand, Way::Device, Way::Earlier, Way::Quiet];

/// What a seed begins with: the protocol, the way in, and whether the service has files of its own.
#[derive(Clone, Copy, Debug)]
pub(super) struct Plan {
    pub(super) protocol: usize,
    pub(super) way: Way,
    own_files: bool,
}

impl Plan {
    pub(super) fn new(seed: u64) -> Self {
        let n = usize::try_from(seed).unwrap();
        Self {
            protocol: n % 5,
            way: WAYS[n / 5 % 4],
            own_files: n / 20 % 2 == 1,
        }
    }

    fn parse(self, id: &str) -> Protocol {
        let mut text = Protocol::example(id).unwrap().to_string();
        if self.own_files {
            // Intervals that tell the classes apart.
            let (min, max) = match id {
                "example-child" => ("200", "340"),
                "example-infant" => ("210", "350"),
                "example-newborn" => ("190", "330"),
                _ => ("180", "300"),
            };
            text = text.replace("min_s = 180", &std::format!("min_s = {min}"));
            text = text.replace("max_s = 300", &std::format!("max_s = {max}"));
            // The change of compressor by a clock of its own, and spoken.
            for (from, to) in [
                (
                    "[check.rotate]\nvalue = true",
                    "[check.rotate]\nvalue = false",
                ),
                (
                    "[check.rotate_apart_s]\nvalue = 0",
                    "[check.rotate_apart_s]\nvalue = 90",
                ),
                (
                    "[voice.also_spoken]\nvalue = []",
                    "[voice.also_spoken]\nvalue = [\"rotate_now\", \"move_plan\"]",
                ),
            ] {
                text = text.replace(from, to);
            }
        }
        Protocol::parse(text.as_bytes()).unwrap()
    }

    pub(super) fn setup(self) -> Setup {
        let protocol = self.parse(Protocol::EXAMPLES[self.protocol].0);
        let classes = [
            "example-adult",
            "example-child",
            "example-infant",
            "example-newborn",
        ];
        let others = classes.map(|id| self.parse(id));
        let others = others
            .into_iter()
            .filter(|p| p.class != protocol.class)
            .collect();
        let clips = Prompt::ALL.iter().map(|p| (*p, speech::clip(*p))).collect();
        Setup {
            class: protocol.class,
            protocol,
            clips: ClipLengths::new(clips).unwrap(),
            others,
        }
    }
}

/// Does one step; the phone stands at its moment.
pub(super) fn act(phone: &mut Phone, what: &What, reached: &mut Reached) {
    let now = phone.now;
    let target = |phone: &Phone, k: usize| phone.run.view(Ms(now)).last.get(k).map(|l| l.seq);
    match what {
        What::Touch(marks, age) => {
            for mark in marks {
                reached.offer(phone, mark);
                let input = Input::Mark {
                    at: Ms(now - age.min(&now)),
                    mark: mark.clone(),
                    src: Source::Button,
                };
                phone.input(now, input, &Cause::Mark(mark.clone()));
            }
        }
        What::Undo => phone.input(now, Input::Undo, &Cause::Story),
        What::Remove(k) => {
            if let Some(seq) = target(phone, *k) {
                phone.input(now, Input::Remove(seq), &Cause::Story);
            }
        }
        What::Earlier(k, by) => {
            if let Some(target) = target(phone, *k) {
                phone.input(
                    now,
                    Input::Earlier {
                        target,
                        by: Ms(*by),
                    },
                    &Cause::Story,
                );
            }
        }
        What::Replace(k, new) => {
            if let Some(target) = target(phone, *k) {
                let op = AmendOp::Replace { new: new.clone() };
                let reason = AmendReason::CrewRecall;
                let amend = Amend::of(target, op, reason);
                phone.input(now, Input::Amend(amend), &Cause::Story);
            }
        }
        What::SetRight(state, back) => {
            let (state, back) = (*state, Ms(*back));
            let mark = Mark::Flow(crate::mark::FlowMark::StateSet { state });
            reached.offer(phone, &mark);
            phone.input(now, Input::SetRight { state, back }, &Cause::Story);
        }
        What::EndHeld => phone.input(now, Input::EndHeld, &Cause::Time),
        What::Dropped => phone.drop_cue(),
        What::Lost => phone.input(now, Input::Sound(SoundNews::Lost), &Cause::Time),
        What::Battery(battery_pct, charging) => {
            let (battery_pct, charging) = (*battery_pct, *charging);
            let news = Input::Phone {
                battery_pct,
                charging,
            };
            phone.input(now, news, &Cause::Time);
        }
        What::Back => phone.input(now, Input::Sound(SoundNews::Back), &Cause::Time),
        What::Kill(away) => phone.kill(now + away),
        What::Stall(ms) => phone.stall(now + ms),
        What::UndoProbe(touch, after) => screen::undo_probe(phone, touch, *after),
        What::RemoveProbe(k) => screen::remove_probe(phone, *k),
        What::ReplayProbe => screen::replay_probe(phone),
    }
}

/// Whether a mark ends a run; such a one is kept for the last.
fn ends(mark: &Mark) -> bool {
    use crate::mark::Resume;
    matches!(
        mark,
        Mark::Run(
            RunMark::End { .. }
                | RunMark::Resume {
                    choice: Resume::NewPatient
                }
        )
    )
}

fn any_touch(d: &mut Dice) -> Vec<Mark> {
    let kind = d.of(&all_kinds());
    [any_mark(kind, d)].to_vec()
}

/// A touch of the screen, or a mark of any kind; seldom one where little time is spent.
fn touch(phone: &Phone, d: &mut Dice) -> Vec<Mark> {
    let told = phone.is_told();
    let rare = matches!(told.line, Line::Pulse | Line::Unknown) || told.pack_out.is_some();
    if told.device_on && d.percent(4) {
        return Act::PowerSwap.marks();
    }
    for _ in 0..20 {
        let view = phone.run.view(Ms(phone.now));
        let marks = if d.percent(if rare || told.cup.is_some() { 80 } else { 25 }) {
            any_touch(d)
        } else if d.percent(15) {
            d.maybe(&view.sheet).map_or_else(Vec::new, Act::marks)
        } else {
            let keys: Vec<Act> = view.main.iter().chain(&view.side).copied().collect();
            if keys.is_empty() {
                any_touch(d)
            } else {
                d.of(&keys).marks()
            }
        };
        if !marks.is_empty() && !marks.iter().any(ends) {
            return marks;
        }
    }
    [Mark::Run(RunMark::Flag {})].to_vec()
}

fn gap(d: &mut Dice) -> u64 {
    match d.between(0, 99) {
        0..=44 => d.between(700, 6000),
        45..=89 => d.between(6000, 22_000),
        90..=97 => d.between(22_000, 70_000),
        _ => d.between(70_000, 260_000),
    }
}

fn something(phone: &Phone, d: &mut Dice, room: u64) -> What {
    let k = usize::try_from(d.between(0, 5)).unwrap();
    match d.between(0, 999) {
        0..=39 => What::Undo,
        40..=64 => What::Remove(k),
        65..=89 => What::Earlier(k, d.of(&[5000, 15_000, 30_000])),
        90..=104 => loop {
            let mark = any_touch(d)[0].clone();
            if !ends(&mark) {
                break What::Replace(k, mark);
            }
        },
        105..=144 => What::SetRight(d.of(SetState::ALL), d.of(&[0, 60_000, 120_000, 300_000])),
        145..=154 => What::EndHeld,
        155..=164 => What::Dropped,
        165..=168 => What::Lost,
        169 => What::Battery(d.of(&[9, 15, 16, 80]), d.percent(30)),
        170..=174 => What::Back,
        175..=186 => What::Kill(match d.between(0, 9) {
            0..=6 => d.between(500, 30_000),
            7..=8 => d.between(30_000, 299_000),
            _ => d.between(299_000, 320_000),
        }),
        187..=194 => What::Stall(d.between(2000, 12_000)),
        195..=234 => What::UndoProbe(touch(phone, d), d.of(&[0, 300, 4000, 15_000, 70_000])),
        235..=274 => What::RemoveProbe(k),
        275..=334 => What::ReplayProbe,
        _ => What::Touch(touch(phone, d), d.between(70, 1000).min(room)),
    }
}

fn begin(phone: &mut Phone, plan: Plan, d: &mut Dice, scene: &mut Play<'_>) {
    let mut t = 300;
    for _ in 0..d.between(0, 4) {
        t += d.between(700, 2000);
        let kind = d.of(&all_kinds());
        let mark = if d.percent(60) {
            any_mark(kind, d)
        } else {
            any_touch(d).remove(0)
        };
        let starts = matches!(kind_of(&mark), "arrest" | "compr_start");
        if !starts {
            scene.step(phone, (t, What::Touch([mark].to_vec(), 100)));
        }
    }
    t += 1000;
    // Breaths that come first are short: most crews that may begin with them do, and are busy then.
    let first = d.of(&[
        Act::StartByHand,
        Act::StartWithBreaths,
        Act::StartWithBreaths,
    ]);
    let act = match plan.way {
        Way::Hand => first,
        Way::Device => Act::DeviceAlreadyOn,
        Way::Earlier => Act::BeganEarlier,
        Way::Quiet => Act::StartQuiet,
    };
    advance(phone, t);
    let way = Input::Start(plan.way);
    phone.input(t, way, &Cause::Story);
    scene.step(phone, (t, What::Touch(act.marks(), 100)));
    for n in 1..21 {
        let breaths = phone.is_told().breaths_until.is_some();
        let marks = any_touch(d);
        if breaths && !marks.iter().any(ends) {
            scene.step(phone, (t + n * 700, What::Touch(marks, 100)));
        }
    }
    // Some are over before the first compression: no arrest after all.
    if phone.is_told().breaths_until.is_some() && d.percent(85) {
        let mark = any_mark("end", d);
        scene.step(phone, (t + 14_500, What::Touch([mark].to_vec(), 100)));
    }
    if plan.way == Way::Earlier {
        let mark = any_mark("prior_care", d);
        scene.step(phone, (t + 10_000, What::Touch([mark].to_vec(), 100)));
    }
    if phone.is_told().line == Line::Before {
        let marks = Act::HandsOn.marks();
        scene.step(phone, (t + 12_000, What::Touch(marks, 100)));
    }
}

/// Steps being played, and kept so that they can be played again.
pub(super) struct Play<'a> {
    pub(super) steps: Vec<Step>,
    pub(super) reached: &'a mut Reached,
}

fn advance(phone: &mut Phone, t: u64) {
    phone.until(t);
    phone.now = t.max(phone.now);
}

impl Play<'_> {
    fn step(&mut self, phone: &mut Phone, step: Step) {
        advance(phone, step.0);
        act(phone, &step.1, self.reached);
        self.steps.push(step);
    }
}

/// Ends in any of the states, so that each of them is seen to end.
fn finish(phone: &mut Phone, d: &mut Dice, scene: &mut Play<'_>) {
    let mut t = phone.now + d.between(1000, 20_000);
    let marks = match d.between(0, 5) {
        0 => Act::Moving.marks(),
        1 => Act::PowerSwap.marks(),
        _ => {
            let state = d.of(SetState::ALL);
            scene.step(phone, (t, What::SetRight(state, 0)));
            Vec::new()
        }
    };
    scene.step(phone, (t, What::Touch(marks, 0)));
    if d.percent(60) {
        t += d.between(700, 5000);
        let mark = any_mark("end", d);
        scene.step(phone, (t, What::Touch([mark].to_vec(), 100)));
        for _ in 0..2 {
            t += 1000;
            let marks = any_touch(d);
            scene.step(phone, (t, What::Touch(marks, 100)));
        }
    }
    let t = phone.now + 10_000;
    advance(phone, t);
    phone.finish();
}

/// A run of twenty minutes and more, made up as it goes.
pub(super) fn live(seed: u64, reached: &mut Reached) -> (Phone, Vec<Step>) {
    let plan = Plan::new(seed);
    let mut d = Dice::new(seed);
    let mut phone = Phone::new(plan.setup());
    let mut scene = Play {
        steps: Vec::new(),
        reached,
    };
    begin(&mut phone, plan, &mut d, &mut scene);
    let end = d.between(1_210_000, 1_500_000);
    while phone.now < end {
        let room = gap(&mut d);
        let t = phone.now + room;
        // What is on the screen then decides what is touched.
        advance(&mut phone, t);
        let what = something(&phone, &mut d, room);
        scene.step(&mut phone, (t, what));
    }
    finish(&mut phone, &mut d, &mut scene);
    (phone, scene.steps)
}

/// The same steps once more, or fewer of them.
pub(super) fn again(seed: u64, steps: &[Step], until: u64) -> Vec<Fault> {
    let plan = Plan::new(seed);
    let mut phone = Phone::new(plan.setup());
    let mut reached = Reached::default();
    let mut scene = Play {
        steps: Vec::new(),
        reached: &mut reached,
    };
    let mut begun = false;
    for step in steps {
        if step.0 < phone.now {
            continue;
        }
        if let What::Touch(marks, _) = &step.1
            && !begun
            && marks
                .iter()
                .any(|m| matches!(kind_of(m), "arrest" | "compr_start"))
        {
            begun = true;
            advance(&mut phone, step.0);
            phone.input(step.0, Input::Start(plan.way), &Cause::Story);
        }
        scene.step(&mut phone, step.clone());
    }
    let end = until.max(phone.now);
    advance(&mut phone, end);
    phone.finish();
    super::all_rules(&mut phone);
    phone.faults
}
