package org.carrybeat.phone

import android.app.Activity
import android.app.ActivityManager
import android.app.KeyguardManager
import android.app.NotificationManager
import android.content.Context
import android.content.Intent
import android.hardware.SensorManager
import android.media.AudioManager
import android.os.Build
import android.os.Handler
import android.os.Looper
import android.os.PowerManager
import android.os.Process
import android.os.SystemClock
import android.os.Vibrator
import android.os.VibratorManager
import android.view.KeyEvent
import java.util.concurrent.Executor
import java.util.concurrent.Executors

/**
 * The phone under the app: one a process, whatever becomes of activities and pages. Everything here happens on the
 * main thread.
 */
class Phone internal constructor(private val app: Context) {
    private val handler = Handler(Looper.getMainLooper())
    private val main = Executor { handler.post(it) }
    private val post = Post()
    private val audio = app.getSystemService(Context.AUDIO_SERVICE) as AudioManager
    private val power = app.getSystemService(Context.POWER_SERVICE) as PowerManager
    private val notices = app.getSystemService(Context.NOTIFICATION_SERVICE) as NotificationManager
    private val sensors = app.getSystemService(Context.SENSOR_SERVICE) as SensorManager
    private val activities = app.getSystemService(Context.ACTIVITY_SERVICE) as ActivityManager
    private val guard = app.getSystemService(Context.KEYGUARD_SERVICE) as KeyguardManager

    private val calls = Calls(audio, main, handler, post)
    private val focus = Focus(audio, handler, post, calls::focus)
    private val loudness: Loudness = Loudness(app, audio, notices, handler, post) { routes.look() }
    private val routes: Routes = Routes(app, audio, handler, post) { loudness.route(it) }
    private val energy = Power(app, power, activities, post)
    private val lock = Lock(app, power, guard, post)
    private val light = Light(sensors, handler, post)
    private val movement = Movement(sensors, handler, post)
    private val felt = Felt(vibrator())
    private val screen = ScreenHold()
    private val share = Share(app, Executors.newSingleThreadExecutor(), handler)
    private val begins = Begins()
    private val key = HeldKey()
    private val notify = Notify()
    private val bare = Bare(handler, post)
    private val unseen = Unseen(handler, { !isHeld || isFront }, { RunNotice.unseen(app, notices) })

    /** The page's process. */
    val page = Page(handler, post)

    /** The one that was last in front, as long as it is there. */
    internal var activity: Activity? = null
        private set
    internal var isFront = false
        private set

    /** A run goes on. */
    internal var isHeld = false
        private set

    /** The service runs in the foreground. */
    private var isServing = false

    /** What its notice says. */
    private var notice = HoldArgs()

    /** Rust listens: everything as it stands, then what changes. */
    internal fun listen(to: (Any) -> Unit) {
        calls.start()
        routes.start()
        loudness.start()
        energy.start()
        lock.start()
        post.tell(News.front(isFront))
        post.listen(to)
        begin()
    }

    internal fun hold(args: HoldArgs) {
        isHeld = true
        notice = args
        serve()
        focus.hold()
        loudness.hold(args.volumePct)
        light.hold()
    }

    private fun serve() {
        if (!RunService.start(app, notice)) serving(false)
    }

    internal fun letGo() {
        isHeld = false
        // One that was asked for and is not in the foreground yet must get there first: Android ends the app whose service
        // is stopped before. It finds no run then and stops itself.
        if (isServing) RunService.stop(app)
        isServing = false
        focus.letGo()
        loudness.letGo()
        light.letGo()
        felt.feel(emptyList())
        notices.cancel(RunNotice.UNSEEN)
        post.tell(News.held(true))
    }

    /** A run is on the screen, or none is any more: some time after its end. */
    internal fun keepScreen(on: Boolean) = if (on) screen.hold(activity) else screen.letGo(activity)

    /** The app was swiped out of the list of recent ones; it was asked to come back. */
    internal fun swiped() = unseen.swiped()

    /** The service runs in the foreground, or may not. */
    internal fun serving(on: Boolean) {
        isServing = on
        tellHeld()
    }

    private fun tellHeld() = post.tell(News.held(isServing && !energy.isForbidden()))

    internal fun feel(pulses: List<FeltPulse>) = felt.feel(pulses)

    internal fun brightness(pct: Int?) = screen.brightness(pct, activity)

    internal fun motion(on: Boolean) = movement.wish(on)

    /** Says what is in the way, `null` if nothing is. */
    internal fun share(paths: List<String>, done: (String?) -> Unit) {
        val now = activity ?: return done("no screen of the app is there to share from; open the app and try again")
        share.share(paths, now, done)
    }

    /** An activity is made, or gets a new intent. `isRestored`: it was there before. */
    fun arrives(activity: Activity, intent: Intent?, isRestored: Boolean) {
        this.activity = activity
        notices.cancel(RunNotice.BROKEN)
        notices.cancel(RunNotice.UNSEEN)
        val now = SystemClock.elapsedRealtime()
        val touchedAt = Begins.touchedAt(intent, isRestored, now, Process.getStartElapsedRealtime())
        if (touchedAt != null) {
            screen.begin(activity)
            asked(touchedAt, byKey = false)
        } else {
            screen.lay(activity)
        }
    }

    /** A key while the activity is in front. */
    fun key(event: KeyEvent) {
        val now = event.eventTime
        if (!key.take(event.keyCode, event.action, event.downTime, now)) return
        // Key times leave sleep out; the phone has not slept since the key went down.
        asked(SystemClock.elapsedRealtime() - (SystemClock.uptimeMillis() - event.downTime), byKey = true)
    }

    fun front(activity: Activity) {
        this.activity = activity
        isFront = true
        // What was refused behind another app, or ended there, is allowed in front.
        if (isHeld && !isServing) serve()
        screen.lay(activity)
        page.front(activity)
        bare.front(activity)
        look()
        notify.front(activity, isHeld || begins.isWaiting || guard.isKeyguardLocked)
        post.tell(News.front(true))
    }

    fun behind(activity: Activity) {
        if (activity !== this.activity) return
        isFront = false
        bare.behind()
        post.tell(News.front(false))
        look()
    }

    fun hidden(activity: Activity) {
        if (activity === this.activity) screen.hidden(activity)
    }

    /**
     * In a run, and until it is sealed, the app goes behind the others instead of away: its page is there when somebody
     * comes back, with the key that takes back an End by mistake.
     */
    fun stays(activity: Activity): Boolean = (isHeld || screen.isHeld) && activity.moveTaskToBack(true)

    fun gone(activity: Activity) {
        if (activity === this.activity) this.activity = null
        // The next activity's is told by the page.
        if (bare.gone(activity)) post.tell(News.page(false))
    }

    /** The activity has a web view. */
    internal fun filled(activity: Activity) {
        bare.filled(activity)
        screen.lay(activity)
    }

    /** What the system tells late or not at all is read when something else happened. */
    private fun look() {
        if (!post.isHeard) return
        lock.look()
        energy.look()
        // Somebody may have forbidden it, or allowed it, in the settings.
        if (isServing) tellHeld()
        calls.look()
        routes.look()
        loudness.look()
    }

    /** Told in a run too: whether what is held is a run, a drill or another patient's run Rust knows alone. */
    private fun asked(touchedAt: Long, byKey: Boolean) {
        begins.asked(touchedAt, byKey)
        if (post.isHeard) begin()
    }

    private fun begin() {
        begins.take(SystemClock.elapsedRealtime())?.let(post::tell)
    }

    private fun vibrator(): Vibrator =
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) {
            (app.getSystemService(Context.VIBRATOR_MANAGER_SERVICE) as VibratorManager).defaultVibrator
        } else {
            @Suppress("DEPRECATION")
            app.getSystemService(Context.VIBRATOR_SERVICE) as Vibrator
        }

    companion object {
        private var phone: Phone? = null

        /** The process's one. */
        @JvmStatic
        fun of(context: Context): Phone = phone ?: Phone(context.applicationContext ?: context).also { phone = it }
    }
}
