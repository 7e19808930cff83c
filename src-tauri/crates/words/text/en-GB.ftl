# British English. Drug names in the texts of ours are the British ones; those of a protocol are its own.

### Every word of the screen. Labels: two words at most, three where the key is full width.
### A key that starts a state is named as the mark that it makes, never as a command to a device.
### One word for one thing on key, screen and voice.

## Keys

act-start_by_hand = Start by Hand
act-hands_off = Hands Off
act-hands_off_check = Hands Off
act-hands_off_fit = Hands Off
act-hands_on = Hands On
act-device_running = Device Running
act-paused = Paused
act-paused_check = Paused
act-stopped = Device Stopped
act-airway_in = Airway In
act-airway_lost = Airway Lost
act-tube_in = Tube In
act-airway_seen = CO2 Wave
act-breaths_between = Ratio Breaths
act-breaths_through = Continuous Breaths
act-breaths_none = No Breaths
act-co2 = CO2
act-fit_device = Fit Device
act-fit_parts = Parts In
act-fit_reason = Why Device
act-not_suited = Not Suited
act-not_now = Not Now
act-shocked_hand = Shocked, Back On
act-shocked_device = Shocked, Back On
act-no_shock_hand = No Shock, Back On
act-no_shock_device = No Shock, Back On
act-shock_now = Shock Given
act-shock_again = Shock Again
act-pulse_back = Pulse Back
act-arrest_again_hand = By Hand
act-arrest_again_device = By Device
act-why_check = Check
act-why_airway = Airway
act-why_pulse = Pulse Check
act-why_breaths = Breaths
act-why_line = Line
act-why_other = Other
act-why_rotate = For Rotate
act-why_move = Move
act-why_fit = Fitting
act-why_reseat = Re-seat
act-why_device_off = Device Off
act-why_power = Power
act-moving = Moving
act-move_scoop = On Scoop
act-move_stairs = On Stairs
act-move_stretcher = On Stretcher
act-loaded = Loaded
act-move_soon = Moving Soon
act-set_down = Set Down
act-cup_good = Cup Good
act-reseat = Re-seat
act-power_swap = Power Swap
act-swapped = Swapped
act-pads_on = Pads On
act-rotate = Rotate
act-flag = Time Mark
act-voice_off = Voice Off
act-voice_on = Voice On
act-beat_off = Beat Off
act-beat_on = Beat On
act-as_before = As Before
act-start_with_breaths = Start, Breaths First
act-device_already_on = Device On
act-began_earlier = Began Earlier
act-start_quiet = Start Quiet
act-breaths_given_2 = Two Given, Hands On
act-breaths_given_5 = Five Given, Hands On
act-shock_through = Shocked
act-no_shock_through = No Shock
act-charge = Charge
act-charge_dumped = Charge Dumped
act-analysing = Analysing
act-it_leads = AED Guides
act-leads_no_more = Crew Guides
act-shockable = Shockable
act-not_shockable = Not Shockable
act-drug_by_clock = Adrenaline In
act-drug_by_shocks = Rhythm Drug
act-line_in = IV In
act-line_bone = IO In
act-other_drug = Other Drug
act-before_us = Earlier Care
act-signs_of_life = Life Signs
act-signs_gone = Signs Gone
act-too_small = Too Small
act-too_large = Too Large
act-full_pack = Full Pack
act-mains_on = On Mains
act-mains_off = Off Mains
act-airway_try = Airway Try
act-ultrasound = Ultrasound
act-decompression = Chest Needle
act-other_task = Other Task
act-procedure_done = Task Over
act-als_here = ALS Here
act-call_made = Call Made
act-ecpr_called = ECPR Called
act-left_scene = Left Scene
act-voice_off_2_min = Voice Pause
act-levels = Sound Levels
act-same_patient = Same Patient
act-new_patient = New Patient
act-still_off = Still Off
act-still_running = Run Continues
act-heard_check = Got It
act-heard_cup = Got It
act-heard_drug = Got It
act-heard_rotate = Got It
act-heard_power = Got It
act-heard_minute = Got It
act-heard_heart = Got It
act-pulse_none = No Pulse
act-pulse_still = Pulse Still
act-heart_below_60 = Under 60
act-heart_from_60 = 60-100
act-heart_above_100 = Over 100
act-class_adult = Adult
act-class_child = Child
act-class_infant = Infant
act-class_newborn = Newborn
act-overlay_pregnancy = Pregnant
act-overlay_cold_30 = Cold <30
act-overlay_cold_35 = Cold 30-35
act-overlay_cold_above = Warm >35
act-overlay_drowning = Drowned
act-overlay_opioid = Opioid
act-overlay_trauma = Trauma
act-overlay_asthma = Asthma
act-pregnancy_off = Not Pregnant
act-cold_off = Not Cold
act-drowning_off = Not Drowned
act-opioid_off = No Opioid
act-trauma_off = No Trauma
act-asthma_off = No Asthma
act-end_handed_over = Handed Over
act-end_stopped = Efforts Ended
act-end_pulse = Pulse Back
act-end_no_arrest = No Arrest

## Hands on, where the pack is out and hands take over

act-hands_on-instead = By Hand

## Questions of the cards

card-before = Not running
card-hand_ratio = Compressions, then breaths
card-hand_continuous = A breath at each tone
card-fitting = Open and on. One short pause.
card-fitting-first = Open and on. Two short pauses.
card-fitting-in_check = Open and on. Fit at the check.
card-device_ratio = Breaths at the device's pause
card-device_continuous = A breath at each tone
card-check_due = Rhythm check
card-check_due-rotate = Rhythm check. Rotate.
card-check-answered = Back on?
card-check_due-fit = Rhythm check, then fit
card-first_breaths = Breaths first
card-hands_off = Why?
card-check = Shock given?
card-fit_pause = Device running?
card-fit_pause-first = First part in, hands on
card-reseating = Cup in place?
card-moving = Set down yet?
card-cup = Cup in place?
card-power = New pack in?
card-power_late = Window over. New pack in?
card-power-in = Device running?
card-stopped = Take it off, hands on
card-pulse = Pulse back. Arrest again?
card-unknown = What is true now?
card-ended = The record is kept

## The state line

state-before = Not Running
state-by_hand = By Hand
state-by_device = By Device
state-hands_off = Hands Off
state-pulse = Pulse Back
state-unknown = Unknown
state-ended = Ended

## Why hands are off, said after the state

reason-rhythm_check = check
reason-pulse_check = pulse check
reason-shock = shock
reason-ventilation = breaths
reason-airway = airway
reason-access = line
reason-ultrasound = ultrasound
reason-procedure = procedure
reason-device_fit = fitting
reason-device_reseat = re-seat
reason-device_off = device off
reason-device_fault = device stopped
reason-power = power
reason-move = move
reason-rotate = rotate
reason-rosc = pulse back
reason-stop_care = efforts ended
reason-unknown = why?

## Lines over the card

banner-no_sound = No sound
banner-not_saving = Not saving
banner-prompts_stopped = Prompts stopped
banner-pack_damaged = Clips damaged
banner-call = Call: watch the beat
banner-muted = Phone is muted
banner-taken = Other app has sound
banner-route_wireless = Sound: wireless device
banner-route_wired = Sound: wired device
banner-route_other = Sound: not the speaker
banner-faint = Phone volume is low
banner-not_held = Keep the app in front
banner-saving = Phone saves power
banner-phone_low = Phone battery low
banner-quiet = Quiet run
banner-led = AED guides
banner-voice_off = Voice off
banner-beat_off = Beat off
banner-resumed = Resumed

## What comes next; the time follows

next-check = Rhythm check in
next-check_over = Check overdue by
next-window = Window closes in

## How a run ended

outcome-rosc = Pulse Back
outcome-stopped = Efforts Ended
outcome-handed_over = Handed Over
outcome-no_arrest = No Arrest

## What is spoken, in the same words

prompt-off05 = Off chest: five seconds.
prompt-off10 = Off chest: ten seconds.
prompt-off15 = Off chest: fifteen seconds.
prompt-off20 = Off chest: twenty seconds.
prompt-off30 = Off chest: thirty seconds.
prompt-off40 = Off chest: forty seconds.
prompt-off50 = Off chest: fifty seconds.
prompt-off60 = Off chest: sixty seconds.
prompt-dev_stop = Device stopped. Take it off, hands on.
prompt-arrest_again = Arrest again.
prompt-power_over = Swap window over. Cup in place?
prompt-chk_now = Time for rhythm check.
prompt-chk_over = Overdue: time for rhythm check.
prompt-rotate_now = Rotate compressors now.
prompt-hr_now = Heart rate: check is due.
prompt-drug_due = Adrenaline is due.
prompt-drug_late = Late: adrenaline.
prompt-cup_down = Set down. Check the cup.
prompt-cup_now = Check the cup.
prompt-dev_cont = Airway in. Device to continuous.
prompt-dev_ratio = Mask again. Device to ratio.
prompt-chk_30 = Rhythm check in thirty.
prompt-chk_15 = Rhythm check in fifteen.
prompt-charge = Charge now?
prompt-chk_cd5 = Five.
prompt-chk_cd4 = Four.
prompt-chk_cd3 = Three.
prompt-chk_cd2 = Two.
prompt-chk_cd1 = One.
prompt-next_up = Next compressor, get ready.
prompt-drug_60 = Adrenaline in one minute.
prompt-drug_next = Antiarrhythmic? Leader decides.
prompt-fit_plan = Open and switched on before anyone stops.
prompt-power_10 = Power swap in ten minutes.
prompt-power_2 = Power swap in two. Pack in hand?
prompt-move_plan = Before moving: limbs, straps, lines, cup.
prompt-causes = Reversible causes?
prompt-plan_now = State the plan.
prompt-pads_now = Pads on? Then rhythm check.
prompt-undo = Mark removed.
prompt-voice_off = Voice off. Beat stays.
prompt-voice_on = Voice on.
prompt-beat_off = Beat off. Clocks run.
prompt-hold_end = Keep holding to end.
prompt-phone_low = Phone battery low.
prompt-still = Still running?

## What the giant figure says

figure-count = compression
figure-off = off the chest
figure-since = so far
figure-until = to go
figure-over = over

## Keys and words that are always the same

fixed-mark = Mark
fixed-undo = Undo
fixed-close = Close
fixed-put_away = Put Away
fixed-more = More
fixed-hold_end = Hold to End
fixed-new_run = New Run
fixed-not_ended = Not Ended
fixed-app = Carrybeat
fixed-touched = Touched
fixed-kept = Kept
fixed-saving = Saving
fixed-refused = Not taken
fixed-marks = Marks
fixed-how_ended = How did it end?
fixed-beat_light = Beat
fixed-shocks = { $n ->
    [one] { $n } shock
   *[other] { $n } shocks
}

## The start card

caution-trained = For trained crews.
caution-protocol = Local protocol and clinical guidance come first.
caution-device = Not a medical device.
caution-senses = It senses nothing: it counts from your marks.
start-example = { $name }: an example, not your service's protocol.
start-own = { $name }
ended-kept = The record of this run is kept on this phone.
ended-not_kept = The record of this run is not all on the disk. Write down now what matters.

## What went wrong at the start

error-locked = Carrybeat is already running
error-locked-remedy = Another window holds the run folder. Close this one and go on in the other.
error-folder = The run folder cannot be used
error-protocol = The protocol cannot be used
error-start = Carrybeat cannot start
error-setting = The setting cannot be changed
error-phone_locked = What is kept of runs is shown once the phone is unlocked
notice-channel = A run going on
notice-title = A run goes on
notice-text = Touch to see it. The beat and the clock go on by themselves.
error-in_run = This cannot be changed while a run goes on
error-not_kept = The record of this run was not kept

## Remarks beside the question

ask-still_off = Still off?
ask-still_running = Run still going?
ask-pulse_again = Pulse still there?
ask-heart_rate = Heart rate?
ask-cup_glance = Glance at the cup
ask-by_hand = No power: by hand?
ask-cold_shocks = Cold: protocol's shock count reached
ask-device_pause = Breaths at the device's pause
ask-keep_pack = On mains: pack still in?
ask-over_budget = Planned time is up
ask-delivery_due = Delivery decided?
ask-rotate = Change of compressor
ask-too_early_for_device = Early for the device by protocol
ask-stays_by_hand = Device refused: by hand

drug-due = { $name }: due
drug-late = { $name }: late
drug-withheld = { $name }: held by protocol
drug-doubled = { $name }: marked twice

## How the device must be set

device_mode-ratio = Device on ratio?
device_mode-continuous = Device on continuous?
device_mode-none = Device: no breaths?

## Lists of the protocol

list-reasons = Why a device
list-not_for = Not for
list-roles = Who does what
list-parts = Parts
list-landmarks = Where it goes
list-before_move = Before moving
list-refractory = Shocks do not hold
list-overlay = Situation
list-minute = Go through
list-pulse = Pulse back
list-ready = Make ready
list-doses = Doses of the service

## Pages of keys behind Mark

group-care = Drugs, Airway
group-check = Rhythm, Pulse
group-chest = On Chest
group-task = Moves, Tasks
group-run = Times, Sound

## Pages of keys behind Set Right

group-why = Why Off
group-patient = Patient
group-special = Situation

## The state, set right

set-manual = By Hand
set-mechanical = By Device
set-hands_off = Hands Off
set-pulse = Pulse Back
set-unknown = Unknown

class-adult = Adult
class-child = Child
class-infant = Infant
class-newborn = Newborn

by-manual = by hand
by-mechanical = by device

## The hand-over card

card_line-patient = Patient
card_line-arrest = Arrest
card_line-basis = Arrest was
card_line-began = We began
card_line-before_us = Before us
card_line-state = Now
card_line-first_rhythm = First rhythm
card_line-rhythm = Rhythm now
card_line-shocks = Shocks
card_line-lines = Lines in
card_line-airway = Airway
card_line-breaths = Breaths
card_line-co2 = CO2 first, low, now
card_line-device = Device since
card_line-device_out = Device stopped, as marked
card_line-device_why = Why a device
card_line-device_refused = Device not used
card_line-power = Power for
card_line-longest = Longest pause
card_line-pulse = Pulse back
card_line-overlay = Situation
card_line-as_marked = Times

basis-recognised = recognised by us
basis-witnessed = seen by us
basis-reported = told to us

rhythm-vf = VF
rhythm-pvt = VT without pulse
rhythm-pea = PEA
rhythm-asystole = asystole
rhythm-organised = organised
rhythm-shockable = shockable
rhythm-not_shockable = not shockable
rhythm-aed_shock = AED: shock
rhythm-aed_no_shock = AED: no shock
rhythm-unknown = not known

airway_key-opa = OPA
airway_key-npa = NPA
airway_key-sga = SGA
airway_key-ett = Tube
airway_key-cric = Cric

entry-done = Done
entry-next = Next
entry-not_known = Not Known
entry-minutes = Arrest, minutes ago
entry-shocks = Shocks so far
entry-doses = Doses so far
entry-last_dose = Last dose, minutes ago
entry-by = Who compresses?
entry-airway = Airway in place
entry-hand = By Hand
entry-device = By Device
entry-beat = Beat
entry-breath = Breath
entry-voice = Voice
entry-all = All
entry-db = dB
entry-full = Full
preset-quiet_room = Quiet Room
preset-vehicle = Vehicle

airway-opa = oral airway
airway-npa = nasal airway
airway-sga = supraglottic
airway-ett = tube
airway-cric = front of neck

breaths-ratio = in a ratio
breaths-continuous = continuous
breaths-none = none

prior-none = nobody compressed
prior-bystander = bystander
prior-family = family
prior-hcp = health worker
prior-first_responder = first responders
prior-other_crew = another crew

aed-none = no AED
aed-applied = AED on
aed-shocked = AED shocked

overlay-pregnancy = pregnant
overlay-cold = cold
overlay-drowning = drowned
overlay-opioid = opioid
overlay-trauma = trauma
overlay-asthma_anaphylaxis = asthma, anaphylaxis

cold-below_30 = below 30
cold-30_35 = 30 to 35
cold-above_35 = above 35

due-check = Next: check
due-drug = Next: { $name }
due-power = Next: power
due-heart_rate = Next: heart rate
due-pulse = Next: pulse
due-minute = Next: list
due-delivery = Next: delivery

## What a mark was

mark-arrest = Arrest
mark-prior_care = Earlier care
mark-patient = Patient
mark-overlay = Situation
mark-leads = Who guides
mark-ack = Answered
mark-times = Time
mark-decision = Decision
mark-clock_mark = Clock
mark-note = Note
mark-resume = Resumed
mark-sound = Sound
mark-flag = Time Mark
mark-end = End
mark-compr_start = Hands On
mark-compr_stop = Hands Off
mark-why = Reason
mark-state_set = Set Right
mark-rotate = Rotate
mark-pulse_check = Pulse Check
mark-rosc = Pulse Back
mark-rearrest = Arrest Again
mark-airway = Airway
mark-airway_confirm = Confirmed
mark-breath_mode = Breath Mode
mark-vent = Breaths
mark-etco2 = CO2
mark-pads = Pads
mark-charge = Charge
mark-analysing = Analysing
mark-rhythm = Rhythm
mark-shock = Shock
mark-no_shock = No Shock
mark-heart_rate = Heart Rate
mark-fit = Fit Device
mark-fit_refused = Not Fitted
mark-cup = Cup
mark-move = Move
mark-power = Power
mark-drug = Drug
mark-access = Line
mark-procedure = Procedure
mark-awake = Life Signs

## Setting right, hand-over, pages

fixed-set_right = Set Right
fixed-what_is_true = What is true?
fixed-since_when = Since when?
fixed-since_now = Now
fixed-since_minutes = { $n } min
fixed-since_change = Last Change
fixed-last_marks = Last Marks
fixed-no_marks = No mark yet
fixed-earlier = { $n } s earlier
fixed-remove = Remove
fixed-ago = ago
fixed-hand_over = Hand Over
fixed-lists = Lists
fixed-back = Back
fixed-menu = Menu
fixed-patient = Patient
fixed-turn = Turn Screen
fixed-debrief = Debrief
fixed-make_ready = Make Ready
fixed-in_a_row = { $n } shocks in a row
fixed-and_last = { $n }, last
fixed-as_marked = as marked in the run
fixed-none_marked = none marked
fixed-none_of = no { $name }
fixed-seconds = { $name } s
fixed-allowed = Allowed: { $name }.
fixed-source = Source: { $name }.
fixed-ms = { $name } ms
fixed-mb = { $name } MB
fixed-version = Version
fixed-file_id = File
fixed-file_version = Version of the file
fixed-file_hash = SHA-256 of the file
fixed-unfinished = Without an end
fixed-damaged = The file was changed or is damaged
fixed-fingerprint = Fingerprint of the record
fixed-fingerprint_use = Kept elsewhere, it shows whether a copy is this record to its last line.
fixed-none_kept = None
fixed-not_told = not told here
fixed-ready_own = Looked at by the app
fixed-ready_kept = A line is kept within
fixed-ready_not_kept = A run could not be kept
fixed-ready_free = Free space
fixed-ready_pack = Voice and tones are whole
fixed-ready_protocol = Protocol
fixed-ready_look = Look at the phone
fixed-ready_kit = Kit, by protocol
fixed-listen = Listen
fixed-listen_note = Plays beats, two breath tones, then a tone and a sentence over beats, as loud as in a run.
fixed-levels = Sound levels
fixed-louder = { $name }: louder
fixed-softer = { $name }: softer
fixed-below_full = { $name } dB below full
fixed-at_full = full
fixed-theme = Colours of the screen
fixed-in_force = Protocol in force
fixed-own_files = The service's own files
fixed-own_folder = Put them here, one .toml file for each class: { $name }
fixed-own_gone = { $name }: not there or not without fault; an example is in force

## Language and numbers

fixed-language_name = English (UK)
fixed-decimal = .
fixed-language = Language of screen and voice
fixed-language_ask = Language? None was chosen: this one is the phone's own.
fixed-language_gone = { $name }; the screen is in English instead
fixed-other_voice = No voice of this language yet: it speaks { $name }
fixed-fault = { $name }

fixed-feel = Feel the beat
feel-unheard = Where it may not be heard
feel-always = In every run
theme-day = Dark
theme-glare = Glare: bright ground for sun
theme-night = Night: dimmed

title-first = Before the first run
title-about = About
title-protocol = Protocol
title-past = Past Runs
title-ready = Ready Check
title-settings = Settings

first-start = Start by Hand starts the beat and all clocks. Nothing else is needed to begin.
first-tap = Tap what has just happened, at the moment it happens. A key is named as what is so.
first-white = The white key answers what the screen asks. Rarer marks lie behind Mark.
first-check = At a rhythm check: Hands Off, look, then Shocked, Back On or No Shock, Back On.
first-fit = Fit Device first, with the device open and on. Then Hands Off, and Device Running when it runs.
first-move = Moving before a move, Set Down after it. Then it asks for the cup: Cup Good or Re-seat.
first-undo = A wrong tap: Undo takes back the last mark.
first-right = A wrong state: touch the top of the screen, say what is true and since when. Reasons and class lie there too.

about-what = Carrybeat keeps the beat, the breaths and the two-minute checks, and writes down what the crew marks.
about-marks = It tells the time and asks. It does not judge and does not decide. Nothing is given or changed by it.
about-data = No name, sound, picture or place is kept. It opens no network connection.
about-example = The protocols that come with it are examples. Use your service's own.
about-keys = With a keyboard or a button: Page Down answers where there is one main key. Of two it marks none by itself: each press moves a frame from one to the other, and held for 0.8 s it marks the framed one. Page Up marks a bare time; Escape closes.
about-filter = A touch counts from 70 ms, a long one at 800 ms. Three fingers at once, and the edge, are ignored.

look-silent = Silent switch off, volume up
look-power = Phone charged
look-mount = Mount and cable at hand

## The screens after a run: keys, and whose clock is looked at.

after-carry_over = Carry Over
after-review = Review
after-keep = Keep, Export
after-why = Why?
after-why_off = Why off the chest?
after-sooner = Earlier
after-later = Later
after-closer = Closer
after-wider = Wider
after-in_words = In words
after-moment = Moment in the strip
after-typed = Typed
after-not_typed = Not typed
after-typed_was = Changed since you typed it. It was
after-previous = Previous
after-next = Next
after-all_rows = All Rows
after-add = Add Mark
after-move_it = Move
after-confirm = Right
after-replace = Replace
after-name_it = Name It
after-take_out = Take Out
after-what_was_done = What was done?
after-what_was_so = What was so?
after-put_back = Put Back
after-take_back = Take Back
after-end_review = End Review
after-clocks = Clocks
after-whose_clock = Whose clock?
after-shows = It shows
after-now = Now
after-as_it_turns = Now, as it turns
after-with_seconds = With Seconds
after-no_seconds = No Seconds
after-seconds = Seconds
after-minutes = Minutes
after-hours = Hours
after-done = Done
after-hold = Protect Run
after-let_go = Lift Protection
after-hold_delete = Hold to Delete
after-hold_delete_all = Hold to Delete All
after-of_all = All Runs: Hand In
after-delete_it = Delete
after-delete_all = Delete All
after-hand_in = Hand In
after-to_pdf = PDF
after-to_csv = Tables, CSV
after-to_carry_over = Carry Over, CSV

clock-dispatch = Control Room
clock-monitor = Monitor
clock-wall = Wall clock
clock-other = Another

## The listening test. Its answers are the prompts, in the language of the voice.

listening-title = Listening Test
listening-note = Twelve prompts in vehicle noise: which was it?
listening-what = Twelve prompts in vehicle noise. Each is heard once; then say which it was, or that you heard nothing.
listening-place_it = Lay the phone where it lies in a run, at the volume of a run, in a quiet place. A call comes in? Start Card, on every page, ends the test.
listening-level = Voice above noise
listening-listener = Listener
listening-no_number = no number
listening-a_number = A number, never a name.
listening-less = 1 Less
listening-one_more = 1 More
listening-ten_more = 10 More
listening-begin = Begin
listening-ready = Press Play when you are ready. It is heard once.
listening-play = Play
listening-sounding = Listen
listening-asking = Which was it?
listening-nothing = Heard Nothing
listening-home = Start Card
listening-failed = The sound was lost or broken off: this test counts for nothing. Begin another.
listening-proof = Twelve answers of one listener are no proof.
listening-export = Export Sheet
listening-again = Next Listener
listening-faulty = Clips of this voice are faulty, so nothing can be tested with it. The start card names them and what helps.
listening-none_done = No test is over yet: answer all twelve, then export

said-listening_level = { $a } dB(A)
said-listening_right = Right: { $a } of { $b }
said-listening_pressing = Urgent prompts right: { $a } of { $b }
said-listening_between = That leaves open anything from { $a } to { $b } % (exact 95 % interval).
said-listening_gate = Aim: { $a } % of urgent prompts right, over the sheets of all listeners.
said-listening_enough = One test is too few to judge: it takes { $a } urgent answers, { $b } tests. With fewer, { $c } % right may be less than { $d } % in truth.
said-listening_total = Urgent prompts of this voice at { $a }, all sheets: { $b } of { $c } right.
said-listening_too_few = Too few to judge: it takes { $a } answers, { $b } tests. With fewer, { $c } % right may be less than { $d } % in truth.
said-listening_reached = The aim of { $a } % is reached.
said-listening_not_reached = The aim of { $a } % is not reached.
said-listening_skipped = Not counted: { $a }: { $b }
said-listening_no_file = it is no file, or too large for a sheet
said-listening_another = another sheet has the number { $a } and other answers
said-listening_cut_off = Removed, since its writing was cut off: { $a }
said-listening_voice_set = Voice level
said-listening_output = Sound output
said-listening_confused = Not understood
said-listening_said = Said
said-listening_taken = Taken for
said-listening_none_wrong = All were understood.
said-listening_pack = Voice
said-listening_seed = Test number
said-listening_device = Device
said-listening_date = Date
said-listening_written = Sheet: { $a }. All sheets there, added up: { $b }

## The debrief: its charts and its printed page. Every time is as a crew marked it, in whole seconds;
## what is not known has a word and never a nought; nothing is a score.

sheet-title = Debrief
sheet-title_of = Debrief of { $a }
sheet-notice = Carrybeat is not a medical device and is cleared as none. It senses nothing: every time is as a crew entered it. For training and debriefing by trained crews; it is no part of a patient's record and no score.
sheet-precision = By marks, ± 1 s. Times are minutes and seconds from the beginning of the window.
sheet-as_recorded = as recorded
sheet-as_amended = as amended, revision { $a }
sheet-as_amended_unsealed = as amended, revision { $a }, amendments not sealed yet: { $b }
sheet-not_known = – not known
sheet-none_marked = – none marked
sheet-yes = yes
sheet-no = no
sheet-seconds = { $a } s
sheet-from_to = { $a } to { $b }
sheet-pair = { $a }, { $b }
sheet-page_of = page { $a } of { $b }
sheet-foot_line = { $a }; { $b }; { $c }
sheet-sealed = sealed, revision { $a }
sheet-sealed_later = sealed, revision { $a }; lines were added since
sheet-unsealed = not sealed
sheet-broken = changed or damaged
sheet-fingerprint = Fingerprint { $a }

sheet-head_run = The run
sheet-head_record = Record
sheet-head_kind = Kind
sheet-head_began = Began, by the phone's clock
sheet-head_window = Window, on the run clock
sheet-head_begins = Begins with
sheet-head_ends = Ends with
sheet-head_saw = Crew saw the arrest
sheet-head_class = Numbers for
sheet-head_crew = People in the crew
sheet-head_unit = Unit
sheet-head_protocol = Protocol
sheet-head_rate = Set rate
sheet-head_version = Definitions
sheet-rate_value = { $a } a minute, as it sounded
sheet-kind_run = run
sheet-kind_drill = drill
sheet-kind_rehearsal = rehearsal
sheet-kind_test = test
sheet-begins_recognised = arrest recognised
sheet-begins_witnessed = arrest seen by the crew
sheet-begins_compression = first compression
sheet-begins_takeover = takeover from others
sheet-ends_stopped = efforts ended
sheet-ends_handed_over = handed over
sheet-ends_circulation = circulation that lasted
sheet-ends_no_arrest = no arrest
sheet-ends_gap = a gap
sheet-ends_last_line = last line, no end was marked
sheet-no_window = Neither arrest nor compressions were marked: nothing can be measured.

sheet-trust_head = How far the marks go
sheet-of = { $a } of { $b }
sheet-trust_line = { $a } checks marked; { $b } not known; known share of the window { $c }

sheet-fractions_head = Time on the chest
sheet-measure = Measure
sheet-value = Value
sheet-window = Window
sheet-fraction = Compression fraction
sheet-fraction_modelled = With the protocol's breath pauses taken off
sheet-after_five = Compression fraction, later
sheet-of_whole = Compressing, of the whole window
sheet-time_on = Compressing
sheet-time_off = Off the chest
sheet-time_pulse = Circulation
sheet-time_unknown = Not known
sheet-time_off_no_breaths = Off the chest, without pauses for breaths
sheet-at_most = at most { $a }: breath pauses were not marked
sheet-below_floor = { $a }; below 0.60
sheet-window_recognition = from recognition
sheet-window_compression = from the first compression
sheet-window_after_five = all but the first five minutes

sheet-longest_head = The longest pauses
sheet-pauses_line = Pauses of { $b } s or more: { $a }, above 10 s: { $c }.

sheet-strip_head = Strip
sheet-strip_title = Strip of the run, { $a } to { $b }, { $c }
sheet-strip_told = Compressing { $a }, off the chest { $b }, { $c }.
sheet-bars_head = Pauses as bars
sheet-bars_title = Pauses against 5 and 10 seconds, { $a }
sheet-bars_told = Pauses: { $a }, longest { $b }, above 10 s: { $c }.
sheet-bars_none = No pauses were marked.
sheet-bars_longest = The { $a } longest of { $b } pauses are drawn; the table has all.

sheet-at = At
sheet-what = What
sheet-length = Length
sheet-reason = Reason
sheet-reason_none = – no reason marked
sheet-ended_by = Ended by
sheet-ended_compressions = compressions
sheet-ended_circulation = circulation
sheet-ended_unknown = a gap, it may have been longer
sheet-ended_end = the end

sheet-lane_state = Chest
sheet-lane_off = Off, s
sheet-lane_checks = Checks
sheet-lane_shocks = Shocks
sheet-lane_drugs = Drugs
sheet-lane_air = Airway
sheet-lane_device = Device
sheet-lane_power = Power
sheet-lane_cup = Cup
sheet-axis_minutes = min
sheet-heard_title = Sound of the rehearsal "{ $a }", { $b }
sheet-heard_told = Beats: { $a }, breath tones: { $b }, breath windows: { $c }.
sheet-heard_said = Prompts: { $a }, other tones: { $b }.
sheet-heard_wave = sound in the file
sheet-heard_first = first beat of a cycle
sheet-heard_beat = beat
sheet-heard_last = last beat of a cycle
sheet-heard_breath = breath tone
sheet-heard_window = breath window
sheet-heard_prompt = prompt
sheet-heard_tone = other tone
sheet-by_hand = by hand
sheet-by_device = by device
sheet-hands_off = off the chest
sheet-circulation = circulation
sheet-unknown = not known
sheet-check = check
sheet-check_missed = check not marked
sheet-shock = shock
sheet-shock_untimed = shock, moment not marked
sheet-dose = dose of { $a }
sheet-airway_in = airway in
sheet-airway_lost = airway lost
sheet-breaths = breaths given
sheet-cup_good = cup good
sheet-cup_reseat = cup re-seated
sheet-cup_open = cup not answered
sheet-swap = pack changed

sheet-pauses_head = Pauses
sheet-shocks_head = Shocks
sheet-fittings_head = Device fittings
sheet-drugs_head = Drugs
sheet-cup_head = Cup checks
sheet-power_head = Power swaps
sheet-checks_head = Rhythm checks
sheet-empty_pauses = – no pauses marked
sheet-empty_shocks = – no shocks marked
sheet-empty_fittings = – no fitting marked
sheet-empty_drugs = – no doses marked
sheet-empty_cup = – no cup check asked for
sheet-empty_power = – no power swap marked
sheet-empty_checks = – no checks marked or due
sheet-by = By
sheet-by_us = this crew
sheet-by_others = others
sheet-pre = Before
sheet-post = After
sheet-peri = Around
sheet-pause = Pause
sheet-remark = Remark
sheet-moment_not_marked = moment not marked
sheet-through = compressions through it
sheet-stacked = one of several in a pause
sheet-no_resume = no compressions after it
sheet-pause_not_marked = pause not marked
sheet-running = Running
sheet-windows = Off the chest
sheet-together = Together
sheet-hands_before = On, minute before
sheet-never_ran = – never ran
sheet-not_fitted = not fitted: { $a }
sheet-drug = Drug
sheet-doses = Doses
sheet-doses_before = Before us
sheet-drug_window = Window
sheet-no_drug_window = – none
sheet-intervals = Intervals
sheet-places = Below, inside, above
sheet-places_value = { $a }, { $b }, { $c }
sheet-interval_before = { $a } (from before us)
sheet-interval_pulse = { $a } (circulation between)
sheet-asked = Asked
sheet-answer = Answer
sheet-after = After
sheet-pack_out = Pack out
sheet-pack_in = Pack in
sheet-swapped = Swap took
sheet-swap_window = Window
sheet-inside = inside
sheet-outside = outside
sheet-off_around = Off the chest
sheet-result = Result
sheet-rhythm = Rhythm
sheet-result_shock = shock
sheet-result_no_shock = no shock
sheet-result_not_said = – not said
sheet-result_missed = – check not marked
sheet-no_pause = – not known
sheet-went_on = none, compressions went on

said-when = { $a } +{ $b }
said-head = { $a } · { $b }
said-drill = A drill: no patient.
said-rehearsal = A rehearsal: no patient.
said-test = A test: no patient.
said-shortened = The file was changed or is damaged: what stands here is of what can be read.
said-seal_waits = Not sealed yet: a record is sealed a minute after the end of its run.
said-place = { $a } of { $b }
said-typed_of = { $a } typed
said-nothing_to_carry = Nothing that could be carried over was marked.
said-not_said = –
said-not_a_run = Of no patient
said-number = entry { $a }
said-at_time = at { $a }
said-revision = As amended, revision { $a }, sealed.
said-revision_open = As amended, revision { $a }, with changes since: { $b }. They are kept; ending the review seals them.
said-by_voice = by voice
said-by_voice_sure = by voice, sure to { $a }
said-to_confirm = To be confirmed
said-to_name = A flag without a name
said-was_at = marked at { $a }
said-was = marked as: { $a }
said-added = added in a review
said-gone = taken out
said-confirmed = confirmed
said-gap = Not known from { $a } to { $b }
said-last_moved = Last change: moved, { $a }
said-last_gone = Last change: taken out, { $a }
said-last_replaced = Last change: replaced by { $a }
said-last_added = Last change: added, { $a }
said-last_confirmed = Last change: confirmed, { $a }
said-not_over = This run is not sealed. It can be reviewed a minute after its end, or six hours after its last mark.
said-offset = { $a }: { $b } against this phone
said-rhythm_check = Rhythm check
said-nothing_amended = as recorded: nothing was amended
said-all_marks = All marks
said-mark_when = When
said-mark_what = Mark
said-clock_moved = { $a } or this phone was set between looks, none is chosen: { $b } against this phone
said-keep_of = Keep, Export
said-keep_all = All Runs
said-is_held = Protected: it is not deleted until the protection is lifted.
said-is_not_held = Not protected. Nothing is deleted by itself.
said-held = Protected
said-waits = Not handed in yet, or changed since.
said-handed_in = Handed in as it is now.
said-not_put_away = This run is not put away yet, New Run does that: till then it is in no hand-in and cannot be deleted.
said-waiting = Runs to be handed in: { $a }
said-nothing_waits = Every run is handed in as it is now.
said-delete_means = Deleting takes the record, and the PDF and tables that were written of it if they are still where they were put. Hand-ins and other copies stay. What is left here is the fingerprint, the number of lines and the day.
said-ask_delete = Delete this run?
said-ask_delete_all = Delete { $a } runs? Kept: { $b }
said-deleted = Deleted.
said-not_read = Files that cannot be read and stay as they are: { $a }
said-deleted_all = Runs deleted: { $a }. Kept, since they are protected or going on: { $b }
said-written = Written: { $a }
said-hand_in_written = A file for the desk is written, runs in it: { $b }. It is still on this phone: { $a }

## Times to carry over: our own words for the values of the care record

carry-yes = Yes
carry-no = No
carry-after_arrival = Yes, after the crew arrived
carry-compressions = Chest compressions
carry-breaths = Breaths
carry-defibrillation = Defibrillation
carry-aed_none = No
carry-aed_applied = Yes, no shock
carry-aed_shocked = Yes, with a shock
carry-bystander = Bystander
carry-family = Family member
carry-hcp = Health worker, not a responder
carry-by_hand = Compressions by hand
carry-by_band = Compressions by device with a band
carry-by_piston = Compressions by device with a piston
carry-by_piston_arm = Compressions by device with a piston on an arm
carry-by_other = Compressions by another device
carry-by_device = Compressions by device
carry-with_breaths = Compressions with pauses for breaths
carry-mask = Breaths by bag and mask
carry-airway = Breaths by an advanced airway
carry-vf = Ventricular fibrillation
carry-pvt = Ventricular tachycardia without a pulse
carry-pea = Electrical activity without a pulse
carry-asystole = Asystole
carry-aed_shock = Not named, AED advised a shock
carry-aed_no_shock = Not named, AED advised no shock
carry-other_rhythm = Rhythm without a code of its own
carry-rosc_none = No
carry-rosc_before = Yes, before arrival at the hospital
carry-rosc_at = Yes, at hand-over
carry-rosc_long = Yes, for 20 minutes on end
carry-stop_dnr = Decision not to attempt resuscitation
carry-stop_control = Order of a senior clinician
carry-stop_obvious = Obvious signs of death
carry-stop_unable = Physically unable to go on
carry-stop_protocol = Protocol fulfilled
carry-stop_rosc = Circulation came back
carry-end_rosc = Circulation in the field
carry-end_field = Died in the field
carry-end_hospital = Resuscitation goes on in the hospital
carry-adrenaline = Adrenaline
carry-amiodarone = Amiodarone
carry-lidocaine = Lidocaine
carry-bicarbonate = Sodium bicarbonate
carry-calcium_chloride = Calcium chloride
carry-calcium_gluconate = Calcium gluconate
carry-magnesium = Magnesium sulfate
carry-atropine = Atropine
carry-naloxone = Naloxone
carry-norepinephrine = Noradrenaline
carry-vasopressin = Vasopressin
carry-antiarrhythmic = Amiodarone or lidocaine
carry-calcium = Calcium
carry-glucose = Glucose
carry-iv = Into a vein
carry-io = Into bone
carry-im = Into muscle
carry-in = Into the nose
carry-et = Down the tube
carry-shock = Shock
carry-shock_aed = Shock by AED
carry-shock_manual = Shock, crew decided
carry-access_iv = Line in a vein
carry-access_io = Line in bone
carry-opa = Airway through the mouth
carry-npa = Airway through the nose
carry-sga = Supraglottic airway
carry-ett = Tube in the windpipe
carry-cric = Airway through the front of the neck
carry-airway_unnamed = Airway
carry-waveform = CO2 wave
carry-digital = CO2 number
carry-colorimetric = CO2 colour
carry-auscultation = Listening
carry-chest_rise = Chest rise
carry-visual = Looking
carry-drug = Drug
carry-source_button = Button
carry-source_voice = Voice
carry-source_sensor = Sensor
carry-source_import = Other system
carry-source_review = Review
carry-clock_dispatch = Control room clock
carry-clock_monitor = Monitor clock
carry-clock_wall = Wall clock
carry-clock_other = Another clock
carry-ask_crew = Only the crew knows: fill it in
carry-ask_told = As told, not seen
carry-ask_voice = Heard as a voice mark
carry-ask_which = The mark does not say which code
carry-ask_twice = Marked more than once
carry-ask_others = Given by others
carry-ask_derived = Follows from several marks
carry-ask_tries = More than 10 tries
carry-ask_strength = The code names the drug, not its strength
carry-ask_first = The crew confirms the first rhythm
carry-fraction = Compression fraction from recognition
carry-upper_bound = Breath pauses were not marked: an upper bound
carry-pause = Time off the chest
carry-gas = Carbon dioxide at the end of a breath
carry-rhythm = Rhythm
carry-first_rhythm = First rhythm
carry-circulation = Return of circulation
carry-end_of_event = End of the event
carry-subject = Patient of the run, not identified
carry-not_named = Not named
carry-by_marks = By marks, good to about a second
