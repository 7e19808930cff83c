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

    private val calls = Calls(audio, main, post)
    private val focus = Focus(audio, handler, post, calls::look)
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
        if (!RunService.start(app, args)) serving(false)
        focus.hold()
        loudness.hold(args.volumePct)
        light.hold()
        screen.hold(activity)
    }

    internal fun letGo() {
        isHeld = false
        RunService.stop(app)
        focus.letGo()
        loudness.letGo()
        light.letGo()
        felt.feel(emptyList())
        screen.letGo(activity)
        post.tell(News.held(true))
    }

    /** The service runs in the foreground, or may not. */
    internal fun serving(on: Boolean) = post.tell(News.held(on && !energy.isForbidden()))

    internal fun feel(pulses: List<FeltPulse>) = felt.feel(pulses)

    internal fun turn() = screen.turn(activity)

    internal fun brightness(pct: Int?) = screen.brightness(pct, activity)

    internal fun motion(on: Boolean) = movement.wish(on)

    /** Says what is in the way, `null` if nothing is. */
    internal fun share(path: String, done: (String?) -> Unit) {
        val now = activity ?: return done("no screen of the app is there to share from; open the app and try again")
        share.share(path, now, done)
    }

    /** An activity is made, or gets a new intent. `isRestored`: it was there before. */
    fun arrives(activity: Activity, intent: Intent?, isRestored: Boolean) {
        this.activity = activity
        notices.cancel(RunNotice.BROKEN)
        val now = SystemClock.elapsedRealtime()
        val touchedAt = Begins.touchedAt(intent, isRestored, now, Process.getStartElapsedRealtime())
        if (touchedAt != null) {
            screen.begin(activity)
            asked(touchedAt)
        } else {
            screen.lay(activity)
        }
    }

    /** A key while the activity is in front. */
    fun key(event: KeyEvent) {
        val now = event.eventTime
        if (!key.take(event.keyCode, event.action, event.downTime, now)) return
        // Key times leave sleep out; the phone has not slept since the key went down.
        asked(SystemClock.elapsedRealtime() - (SystemClock.uptimeMillis() - event.downTime))
    }

    fun front(activity: Activity) {
        this.activity = activity
        isFront = true
        screen.lay(activity)
        page.front(activity)
        look()
        notify.front(activity, isHeld || begins.isWaiting || guard.isKeyguardLocked)
        post.tell(News.front(true))
    }

    fun behind(activity: Activity) {
        if (activity !== this.activity) return
        isFront = false
        post.tell(News.front(false))
        look()
    }

    fun hidden(activity: Activity) {
        if (activity === this.activity) screen.hidden(activity)
    }

    fun gone(activity: Activity) {
        if (activity === this.activity) this.activity = null
    }

    internal fun lay(activity: Activity) = screen.lay(activity)

    /** What the system tells late or not at all is read when something else happened. */
    private fun look() {
        if (!post.isHeard) return
        lock.look()
        energy.look()
        calls.look()
        routes.look()
        loudness.look()
    }

    private fun asked(touchedAt: Long) {
        if (isHeld) return
        begins.asked(touchedAt)
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
