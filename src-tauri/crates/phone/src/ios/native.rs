//! The one place where Rust cannot vouch for a call: Apple's frameworks, each behind a safe function.
//!
//! The bindings are made from Apple's headers, so that names and types are the compiler's to check. What a header
//! does not say (threads, lifetimes, what a constant holds, since which version) is said at each `unsafe`. Nothing
//! is decided here: values go in and come out, the other files of this folder know what they mean.
//!
//! Every constant and method named here is there from iOS 15 on, the oldest that the app is built for: a newer
//! constant would keep the app from starting there.

use std::{
    ffi::c_void,
    path::{Path, PathBuf},
    ptr::NonNull,
};

use block2::{DynBlock, RcBlock};
use cycle::Route;
use objc2::{
    AllocAnyThread, DefinedClass, MainThreadMarker, MainThreadOnly, define_class, ffi, msg_send,
    rc::Retained,
    runtime::{AnyClass, AnyObject, Bool, Imp, NSObject, NSObjectProtocol, ProtocolObject, Sel},
    sel,
};
use objc2_avf_audio::{
    AVAudioSession, AVAudioSessionCategoryOptions, AVAudioSessionCategoryPlayback,
    AVAudioSessionInterruptionNotification, AVAudioSessionInterruptionReasonKey,
    AVAudioSessionInterruptionTypeKey, AVAudioSessionMediaServicesWereResetNotification,
    AVAudioSessionModeDefault, AVAudioSessionPortAirPlay, AVAudioSessionPortBluetoothA2DP,
    AVAudioSessionPortBluetoothHFP, AVAudioSessionPortBluetoothLE,
    AVAudioSessionPortBuiltInReceiver, AVAudioSessionPortBuiltInSpeaker, AVAudioSessionPortHDMI,
    AVAudioSessionPortHeadphones, AVAudioSessionPortLineOut, AVAudioSessionPortUSBAudio,
    AVAudioSessionRouteChangeNotification,
};
use objc2_call_kit::{CXCall, CXCallObserver, CXCallObserverDelegate};
use objc2_core_haptics::{
    CHHapticDeviceCapability, CHHapticDynamicParameter, CHHapticEngine,
    CHHapticEngineStoppedReason, CHHapticEvent, CHHapticEventParameter,
    CHHapticEventParameterIDHapticIntensity, CHHapticEventParameterIDHapticSharpness,
    CHHapticEventTypeHapticContinuous, CHHapticPattern, CHHapticPatternPlayer,
};
use objc2_core_motion::{CMAccelerometerData, CMMotionManager};
use objc2_foundation::{
    NSArray, NSDictionary, NSError, NSFileManager,
    NSFileProtectionCompleteUntilFirstUserAuthentication, NSFileProtectionKey, NSKeyValueChangeKey,
    NSKeyValueObservingOptions, NSNotification, NSNotificationCenter, NSNotificationName, NSNumber,
    NSObjectNSKeyValueObserverRegistration, NSOperationQueue,
    NSProcessInfoPowerStateDidChangeNotification, NSString, NSURL, NSURLIsExcludedFromBackupKey,
    ns_string,
};
use objc2_ui_kit::{
    UIActivityViewController, UIApplication, UIApplicationDidBecomeActiveNotification,
    UIApplicationProtectedDataDidBecomeAvailable, UIApplicationProtectedDataWillBecomeUnavailable,
    UIApplicationShortcutItem, UIApplicationWillResignActiveNotification,
    UIDeviceBatteryLevelDidChangeNotification, UIDeviceBatteryStateDidChangeNotification,
    UIInterfaceOrientationMask, UIViewController,
};

/// What an error of the system says.
fn told(error: &NSError) -> String {
    error.localizedDescription().to_string()
}

// ---------------------------------------------------------------------------------------------------- sound

fn session() -> Retained<AVAudioSession> {
    // SAFETY: gives the process's one session, on any thread, for ever.
    unsafe { AVAudioSession::sharedInstance() }
}

/// Has our sound played with the ring switch off and the screen locked, others' quieter beside it.
pub(super) fn play_over_others() -> Result<(), String> {
    // SAFETY: constants of AVFAudio, only read; there since iOS 3 and 5.
    let (category, mode) = unsafe { (AVAudioSessionCategoryPlayback, AVAudioSessionModeDefault) };
    let (Some(category), Some(mode)) = (category, mode) else {
        return Err("AVFAudio has no category for playing".to_owned());
    };
    let options = AVAudioSessionCategoryOptions::DuckOthers;
    // SAFETY: category, mode and option belong together (playback takes DuckOthers); may be called on any thread.
    unsafe { session().setCategory_mode_options_error(category, mode, options) }
        .map_err(|error| told(&error))
}

/// Takes the sound. Waits for the system, so never on the main thread.
pub(super) fn take_sound() -> Result<(), String> {
    // SAFETY: may be called on any thread; a refusal comes back as an error.
    unsafe { session().setActive_error(true) }.map_err(|error| told(&error))
}

/// Whether a ringing call, and not only a spoken one, is to leave our sound alone.
pub(super) fn keep_through_alerts(keep: bool) -> Result<(), String> {
    // SAFETY: there since iOS 14.5; may be called on any thread.
    unsafe { session().setPrefersNoInterruptionsFromSystemAlerts_error(keep) }
        .map_err(|error| told(&error))
}

/// How loud the phone is set, a share of one.
pub(super) fn volume() -> f32 {
    // SAFETY: an atomic property of the session.
    unsafe { session().outputVolume() }
}

/// All that the sound goes to.
pub(super) fn outputs() -> Vec<Route> {
    // SAFETY: constants of AVFAudio, only read; the newest is there since iOS 7.
    let known = unsafe {
        [
            (AVAudioSessionPortBuiltInSpeaker, Route::Speaker),
            (AVAudioSessionPortBuiltInReceiver, Route::Earpiece),
            (AVAudioSessionPortHeadphones, Route::Wired),
            (AVAudioSessionPortLineOut, Route::Wired),
            (AVAudioSessionPortUSBAudio, Route::Wired),
            (AVAudioSessionPortHDMI, Route::Wired),
            (AVAudioSessionPortBluetoothA2DP, Route::Wireless),
            (AVAudioSessionPortBluetoothHFP, Route::Wireless),
            (AVAudioSessionPortBluetoothLE, Route::Wireless),
            (AVAudioSessionPortAirPlay, Route::Wireless),
        ]
    };
    // SAFETY: the route is a value of its own, which does not change under us.
    let outputs = unsafe { session().currentRoute().outputs() };
    outputs
        .iter()
        .map(|port| {
            // SAFETY: a property that was set when the description was made.
            let kind = unsafe { port.portType() };
            let is_kind = |name: Option<&NSString>| name.is_some_and(|name| *name == *kind);
            let found = known.iter().find(|(name, _)| is_kind(*name));
            found.map_or(Route::Other, |(_, route)| *route)
        })
        .collect()
}

// ------------------------------------------------------------------------------------------------- what happens

/// What the system says of its own accord.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Event {
    Interruption,
    RouteChange,
    SoundServerRestarted,
    PowerMode,
    BatteryLevel,
    BatteryState,
    Locks,
    Unlocked,
    Front,
    Behind,
}

impl Event {
    fn name(self) -> Option<&'static NSNotificationName> {
        // SAFETY: constants of their frameworks, only read; all are there since iOS 9 or longer.
        unsafe {
            match self {
                Self::Interruption => AVAudioSessionInterruptionNotification,
                Self::RouteChange => AVAudioSessionRouteChangeNotification,
                Self::SoundServerRestarted => AVAudioSessionMediaServicesWereResetNotification,
                Self::PowerMode => Some(NSProcessInfoPowerStateDidChangeNotification),
                Self::BatteryLevel => Some(UIDeviceBatteryLevelDidChangeNotification),
                Self::BatteryState => Some(UIDeviceBatteryStateDidChangeNotification),
                Self::Locks => Some(UIApplicationProtectedDataWillBecomeUnavailable),
                Self::Unlocked => Some(UIApplicationProtectedDataDidBecomeAvailable),
                Self::Front => Some(UIApplicationDidBecomeActiveNotification),
                Self::Behind => Some(UIApplicationWillResignActiveNotification),
            }
        }
    }
}

/// What an event says of itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct Details {
    /// Of an interruption: 1 began, 0 ended.
    pub(super) kind: Option<usize>,
    /// Of an interruption: 1 the app had been suspended.
    pub(super) reason: Option<usize>,
}

impl Details {
    fn of(notification: &NSNotification) -> Self {
        let number = |key: Option<&NSString>| {
            let value = notification.userInfo()?.objectForKey(key?)?;
            Some(value.downcast::<NSNumber>().ok()?.unsignedIntegerValue())
        };
        // SAFETY: constants of AVFAudio, only read; the second is there since iOS 14.5.
        let (kind, reason) = unsafe {
            (
                AVAudioSessionInterruptionTypeKey,
                AVAudioSessionInterruptionReasonKey,
            )
        };
        Self {
            kind: number(kind),
            reason: number(reason),
        }
    }
}

/// Calls `then` at each such event from now on, on whatever thread it happens. For the life of the process.
pub(super) fn on_each(event: Event, then: impl Fn(Details) + Send + Sync + 'static) {
    let block = RcBlock::new(move |notification: NonNull<NSNotification>| {
        // SAFETY: the centre passes a notification that lives as long as the call.
        then(Details::of(unsafe { notification.as_ref() }));
    });
    let Some(name) = event.name() else { return };
    let centre = NSNotificationCenter::defaultCenter();
    // SAFETY: no object and no queue are given, so their types and threads are no matter; the block holds only
    // what may be sent to and used on any thread. The centre keeps block and observer.
    unsafe { centre.addObserverForName_object_queue_usingBlock(Some(name), None, None, &block) };
}

/// What an observer calls.
type Then = Box<dyn Fn() + Send + Sync>;

define_class!(
    // SAFETY: NSObject asks nothing of its subclasses, and there is no `Drop`.
    #[unsafe(super(NSObject))]
    #[name = "CarrybeatVolumeObserver"]
    #[ivars = Then]
    struct VolumeObserver;

    // SAFETY: it adds nothing to what NSObject fulfils.
    unsafe impl NSObjectProtocol for VolumeObserver {}

    impl VolumeObserver {
        // SAFETY: the signature is NSKeyValueObserving's.
        #[unsafe(method(observeValueForKeyPath:ofObject:change:context:))]
        fn observe(
            &self,
            _key: Option<&NSString>,
            _object: Option<&AnyObject>,
            _change: Option<&NSDictionary<NSKeyValueChangeKey, AnyObject>>,
            _context: *mut c_void,
        ) {
            self.ivars()();
        }
    }
);

/// Calls `then` at each change of the volume from now on, on any thread. For the life of the process.
pub(super) fn on_each_volume(then: Then) {
    let observer = VolumeObserver::alloc().set_ivars(then);
    // SAFETY: NSObject's `init`, of the right type, on a freshly allocated object.
    let observer: Retained<VolumeObserver> = unsafe { msg_send![super(observer), init] };
    // SAFETY: the observer answers `observeValueForKeyPath:…` and lives for ever, see the next line; the context
    // is unused; `outputVolume` is documented as observable.
    unsafe {
        session().addObserver_forKeyPath_options_context(
            &observer,
            ns_string!("outputVolume"),
            NSKeyValueObservingOptions::New,
            std::ptr::null_mut(),
        );
    }
    // The session does not keep its observers: this one is never given back.
    let _kept_for_ever = Retained::into_raw(observer);
}

/// What is told of calls.
type OnCall = Box<dyn Fn(bool) + Send + Sync>;

define_class!(
    // SAFETY: NSObject asks nothing of its subclasses, and there is no `Drop`.
    #[unsafe(super(NSObject))]
    #[name = "CarrybeatCallObserver"]
    #[ivars = OnCall]
    struct CallObserver;

    // SAFETY: it adds nothing to what NSObject fulfils.
    unsafe impl NSObjectProtocol for CallObserver {}

    // SAFETY: the one method has the protocol's signature.
    unsafe impl CXCallObserverDelegate for CallObserver {
        // SAFETY: the signature is CXCallObserverDelegate's.
        #[unsafe(method(callObserver:callChanged:))]
        fn changed(&self, observer: &CXCallObserver, _call: &CXCall) {
            self.ivars()(is_in_call(observer));
        }
    }
);

/// Whether a call is spoken; one that only rings is none.
fn is_in_call(observer: &CXCallObserver) -> bool {
    // SAFETY: the list is a copy of the observer's own, and the calls in it do not change.
    let calls = unsafe { observer.calls() };
    calls
        .iter()
        // SAFETY: plain properties of such a call.
        .any(|call| unsafe { call.hasConnected() && !call.hasEnded() })
}

/// Says now and at each change whether a call is spoken, on the main thread. For the life of the process.
pub(super) fn on_each_call(_main: MainThreadMarker, then: OnCall) {
    // SAFETY: NSObject's `new`.
    let observer = unsafe { CXCallObserver::new() };
    then(is_in_call(&observer));
    let delegate = CallObserver::alloc().set_ivars(then);
    // SAFETY: NSObject's `init`, of the right type, on a freshly allocated object.
    let delegate: Retained<CallObserver> = unsafe { msg_send![super(delegate), init] };
    // SAFETY: no queue means the main one. The delegate is held weakly, and lives for ever as the observer does.
    unsafe { observer.setDelegate_queue(Some(ProtocolObject::from_ref(&*delegate)), None) };
    let _kept_for_ever = (Retained::into_raw(delegate), Retained::into_raw(observer));
}

// ------------------------------------------------------------------------------------------------------ motor

/// The vibrator.
#[derive(Debug)]
pub(super) struct Motor(Retained<CHHapticEngine>);

/// What the vibrator plays; ends when dropped by [`Playing::end`] alone.
#[derive(Debug)]
pub(super) struct Playing(Retained<ProtocolObject<dyn CHHapticPatternPlayer>>);

/// How strong and how hard a pulse is felt. Source: the project's own choice, to be tried: all there is, through
/// a glove.
const INTENSITY: f32 = 1.0;
const SHARPNESS: f32 = 0.5;

impl Motor {
    /// None where the phone has none that takes a pattern. `lost` is called when the system stops or resets it,
    /// on a thread of the system's.
    pub(super) fn new(lost: impl Fn() + Send + Sync + Clone + 'static) -> Option<Self> {
        // SAFETY: a description of the hardware, on any thread.
        let can_feel = unsafe { CHHapticEngine::capabilitiesForHardware().supportsHaptics() };
        if !can_feel {
            return None;
        }
        // SAFETY: the class's own initialiser on a freshly allocated object; a failure is an error.
        let engine = unsafe { CHHapticEngine::initAndReturnError(CHHapticEngine::alloc()) }.ok()?;
        let reset = RcBlock::new(lost.clone());
        let stopped = RcBlock::new(move |_: CHHapticEngineStoppedReason| lost());
        // SAFETY: the engine copies both blocks, whose signatures are those of its header; they hold only what may
        // be used on any thread, since the engine calls them on a queue of its own. The flags are plain properties,
        // set before the start, when they count.
        unsafe {
            engine.setStoppedHandler(RcBlock::as_ptr(&stopped));
            engine.setResetHandler(RcBlock::as_ptr(&reset));
            engine.setPlaysHapticsOnly(true);
            engine.setAutoShutdownEnabled(true);
        }
        Some(Self(engine))
    }

    /// Starts it without waiting; `then` is told whether it runs, on a thread of the system's.
    pub(super) fn start(&self, then: impl Fn(bool) + Send + Sync + 'static) {
        let block = RcBlock::new(move |error: *mut NSError| then(error.is_null()));
        // SAFETY: the engine copies the block, which has the header's signature and may run on any thread.
        unsafe { self.0.startWithCompletionHandler(RcBlock::as_ptr(&block)) };
    }

    /// Plays pulses, each from so many seconds on for so many, from now on.
    pub(super) fn play(&self, pulses: &[(f64, f64)]) -> Result<Playing, String> {
        let events: Vec<Retained<CHHapticEvent>> =
            pulses.iter().map(|(at, len)| event(*at, *len)).collect();
        let events = NSArray::from_retained_slice(&events);
        let none = NSArray::<CHHapticDynamicParameter>::new();
        // SAFETY: the class's own initialiser on a freshly allocated object; both lists hold what their types say.
        let pattern = unsafe {
            CHHapticPattern::initWithEvents_parameters_error(
                CHHapticPattern::alloc(),
                &events,
                &none,
            )
        };
        let pattern = pattern.map_err(|error| told(&error))?;
        // SAFETY: a pattern of this engine's kind; the player keeps its engine. Time 0 is "now" by the header.
        unsafe {
            let player = self.0.createPlayerWithPattern_error(&pattern);
            let player = player.map_err(|error| told(&error))?;
            player
                .startAtTime_error(0.0)
                .map_err(|error| told(&error))?;
            Ok(Playing(player))
        }
    }
}

impl Playing {
    /// Ends it now.
    pub(super) fn end(self) {
        // SAFETY: takes back what was started; on a stopped engine it is an error, which says that nothing plays.
        let _ended = unsafe { self.0.cancelAndReturnError() };
    }
}

fn event(at_s: f64, len_s: f64) -> Retained<CHHapticEvent> {
    // SAFETY: constants of CoreHaptics, only read; there since iOS 13. The initialisers are the classes' own, each
    // on a freshly allocated object, with values in the headers' ranges (0 to 1; seconds from 0 on).
    unsafe {
        let parameter = |id, value| {
            let new = CHHapticEventParameter::alloc();
            CHHapticEventParameter::initWithParameterID_value(new, id, value)
        };
        let parameters = [
            parameter(CHHapticEventParameterIDHapticIntensity, INTENSITY),
            parameter(CHHapticEventParameterIDHapticSharpness, SHARPNESS),
        ];
        CHHapticEvent::initWithEventType_parameters_relativeTime_duration(
            CHHapticEvent::alloc(),
            CHHapticEventTypeHapticContinuous,
            &NSArray::from_retained_slice(&parameters),
            at_s,
            len_s,
        )
    }
}

// ----------------------------------------------------------------------------------------------------- motion

/// The accelerometer.
#[derive(Debug)]
pub(super) struct Accelerometer(Retained<CMMotionManager>);

/// One reading, in gravities, at a moment of the system's clock, seconds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reading {
    pub(super) at_s: f64,
    pub(super) x: f64,
    pub(super) y: f64,
    pub(super) z: f64,
}

impl Accelerometer {
    /// None where there is none. Reads every `every_s` seconds from now on, on a thread of the system's, until
    /// [`Accelerometer::end`].
    pub(super) fn start(
        every_s: f64,
        then: impl Fn(Reading) + Send + Sync + 'static,
    ) -> Option<Self> {
        // SAFETY: NSObject's `new`; the app has no other manager.
        let manager = unsafe { CMMotionManager::new() };
        // SAFETY: a plain property.
        if !unsafe { manager.isAccelerometerAvailable() } {
            return None;
        }
        let block = RcBlock::new(move |data: *mut CMAccelerometerData, _: *mut NSError| {
            // SAFETY: null or a reading that lives as long as the call.
            let Some(data) = (unsafe { data.as_ref() }) else {
                return;
            };
            // SAFETY: plain properties of a reading.
            let (at_s, a) = unsafe { (data.timestamp(), data.acceleration()) };
            then(Reading {
                at_s,
                x: a.x,
                y: a.y,
                z: a.z,
            });
        });
        let queue = NSOperationQueue::new();
        // SAFETY: the manager keeps the queue and copies the block, which has the header's signature and may run on
        // any thread.
        unsafe {
            manager.setAccelerometerUpdateInterval(every_s);
            manager.startAccelerometerUpdatesToQueue_withHandler(&queue, RcBlock::as_ptr(&block));
        }
        Some(Self(manager))
    }

    /// Reads no more.
    pub(super) fn end(self) {
        // SAFETY: takes back what was started; a reading on its way may still come.
        unsafe { self.0.stopAccelerometerUpdates() };
    }
}

// ----------------------------------------------------------------------------------------------------- screen

/// Lets the screen stand only so; whether the shell's view takes it.
pub(super) fn allow_orientations(controller: &UIViewController, mask: usize) -> bool {
    if !controller.respondsToSelector(sel!(setSupportedInterfaceOrientations:)) {
        return false;
    }
    let mask = UIInterfaceOrientationMask(mask);
    // SAFETY: the shell's controller declares this setter with one such mask and no result; UIKit has none of this
    // name that takes anything else. On the main thread, which owning a controller's reference here means.
    let (): () = unsafe { msg_send![controller, setSupportedInterfaceOrientations: mask] };
    true
}

/// A sheet that hands files on.
pub(super) fn share_sheet(
    files: &[PathBuf],
    main: MainThreadMarker,
) -> Option<Retained<UIActivityViewController>> {
    let urls: Option<Vec<Retained<NSURL>>> = files.iter().map(NSURL::from_file_path).collect();
    let urls = urls?;
    let items: Vec<&AnyObject> = urls.iter().map(|url| -> &AnyObject { url }).collect();
    let items = NSArray::from_slice(&items);
    let new = UIActivityViewController::alloc(main);
    // SAFETY: the class's own initialiser on a freshly allocated object; file addresses are among the items that
    // it takes, and no activities of ours are given.
    Some(unsafe {
        UIActivityViewController::initWithActivityItems_applicationActivities(new, &items, None)
    })
}

// ---------------------------------------------------------------------------------------------------- shortcut

/// The method that answers it.
type Answer = extern "C-unwind" fn(
    NonNull<AnyObject>,
    Sel,
    *mut AnyObject,
    *mut UIApplicationShortcutItem,
    *mut DynBlock<dyn Fn(Bool)>,
);

/// Has the app's delegate answer the shortcut on the home screen, which the shell's own leaves unanswered.
/// Whether it does now by us; on the main thread.
pub(super) fn answer_shortcut(main: MainThreadMarker) -> bool {
    // SAFETY: the app keeps its delegate for the life of the process.
    let delegate = unsafe { UIApplication::sharedApplication(main).delegate() };
    let Some(delegate) = delegate else {
        return false;
    };
    let delegate: &AnyObject = (*delegate).as_ref();
    let class: *const AnyClass = delegate.class();
    // SAFETY: `Imp` stands for a method of any signature; the runtime calls it with the one that is named beside it.
    let answer = unsafe { std::mem::transmute::<Answer, Imp>(shortcut_chosen) };
    let name = sel!(application:performActionForShortcutItem:completionHandler:);
    // SAFETY: the class is registered and is not being changed elsewhere, since UIKit and we are on the main thread.
    // A method that is there already is left as it is. The types are: nothing; self, selector, two objects, a block.
    unsafe { ffi::class_addMethod(class.cast_mut(), name, answer, c"v@:@@@?".as_ptr()) }.as_bool()
}

extern "C-unwind" fn shortcut_chosen(
    _this: NonNull<AnyObject>,
    _name: Sel,
    _app: *mut AnyObject,
    item: *mut UIApplicationShortcutItem,
    done: *mut DynBlock<dyn Fn(Bool)>,
) {
    // SAFETY: null or an item that lives as long as the call.
    let item = unsafe { item.as_ref() };
    let is_ours = item.is_some_and(|item| super::watch::shortcut(&item.r#type().to_string()));
    // SAFETY: null or a block of this signature that lives as long as the call.
    if let Some(done) = unsafe { done.as_ref() } {
        done.call((Bool::new(is_ours),));
    }
}

// ----------------------------------------------------------------------------------------------------- backups

/// Marks a folder as none for backups, and as open from the first unlock on.
pub(crate) fn keep_out_of_backups(path: &Path) -> Result<(), String> {
    let url = NSURL::from_file_path(path).ok_or("it has no address")?;
    let yes = NSNumber::numberWithBool(true);
    // SAFETY: a constant of Foundation, only read; its value is a boolean number.
    unsafe { url.setResourceValue_forKey_error(Some(&yes), NSURLIsExcludedFromBackupKey) }
        .map_err(|error| told(&error))?;
    let name = url.path().ok_or("it has no path")?;
    // SAFETY: constants of Foundation, only read; there since iOS 5.
    let (key, class) = unsafe {
        (
            NSFileProtectionKey,
            NSFileProtectionCompleteUntilFirstUserAuthentication,
        )
    };
    let class: &AnyObject = class;
    let attributes = NSDictionary::from_slices(&[key], &[class]);
    // SAFETY: the key's value is a string of this kind.
    unsafe { NSFileManager::defaultManager().setAttributes_ofItemAtPath_error(&attributes, &name) }
        .map_err(|error| told(&error))
}
