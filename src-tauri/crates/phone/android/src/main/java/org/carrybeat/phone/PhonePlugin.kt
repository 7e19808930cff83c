package org.carrybeat.phone

import android.app.Activity
import app.tauri.annotation.Command
import app.tauri.annotation.InvokeArg
import app.tauri.annotation.TauriPlugin
import app.tauri.plugin.Channel
import app.tauri.plugin.Invoke
import app.tauri.plugin.Plugin

@InvokeArg
internal class ListenArgs {
    lateinit var channel: Channel
}

/** A run goes on; what the notice says, and how loud the phone is to be. */
@InvokeArg
internal class HoldArgs {
    var channel: String = ""
    var title: String = ""
    var text: String = ""
    var volumePct: Int? = null
}

@InvokeArg
internal class ScreenArgs {
    var on: Boolean = false
}

@InvokeArg
internal class FeelArgs {
    var pulses: List<FeltPulse> = emptyList()
}

/** One pulse of the vibrator, so long after it is asked for and so long. */
@InvokeArg
class FeltPulse() {
    var inMs: Long = 0
    var lenMs: Long = 0

    constructor(inMs: Long, lenMs: Long) : this() {
        this.inMs = inMs
        this.lenMs = lenMs
    }
}

@InvokeArg
internal class BrightnessArgs {
    var pct: Int? = null
}

@InvokeArg
internal class MotionArgs {
    var on: Boolean = false
}

@InvokeArg
internal class ShareArgs {
    var paths: List<String> = emptyList()
}

/**
 * Rust's wishes, one command each. Tauri calls them on the main thread, one after the other; `wire.rs` of this crate
 * has the other end, `examples.json` one of each.
 */
@TauriPlugin
class PhonePlugin internal constructor(activity: Activity, private val phone: Phone) : Plugin(activity) {
    /** The one that Tauri looks for. */
    constructor(activity: Activity) : this(activity, Phone.of(activity))

    @Command
    fun listen(invoke: Invoke) {
        val channel = invoke.parseArgs(ListenArgs::class.java).channel
        phone.listen(channel::sendObject)
        invoke.resolve()
    }

    @Command
    fun hold(invoke: Invoke) {
        phone.hold(invoke.parseArgs(HoldArgs::class.java))
        invoke.resolve()
    }

    @Command
    fun letGo(invoke: Invoke) {
        phone.letGo()
        invoke.resolve()
    }

    @Command
    fun screen(invoke: Invoke) {
        phone.keepScreen(invoke.parseArgs(ScreenArgs::class.java).on)
        invoke.resolve()
    }

    @Command
    fun feel(invoke: Invoke) {
        phone.feel(invoke.parseArgs(FeelArgs::class.java).pulses)
        invoke.resolve()
    }

    @Command
    fun brightness(invoke: Invoke) {
        phone.brightness(invoke.parseArgs(BrightnessArgs::class.java).pct)
        invoke.resolve()
    }

    @Command
    fun motion(invoke: Invoke) {
        phone.motion(invoke.parseArgs(MotionArgs::class.java).on)
        invoke.resolve()
    }

    @Command
    fun share(invoke: Invoke) {
        phone.share(invoke.parseArgs(ShareArgs::class.java).paths) { wrong ->
            if (wrong == null) invoke.resolve() else invoke.reject(wrong)
        }
    }
}
