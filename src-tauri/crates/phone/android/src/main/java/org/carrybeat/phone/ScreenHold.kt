package org.carrybeat.phone

import android.app.Activity
import android.content.pm.ActivityInfo
import android.os.Build
import android.view.WindowManager

/**
 * What a run wants of the screen: on, over the lock, as bright as wished, the same way up. It is laid on every
 * activity that comes, since the one before may have gone with its page.
 */
internal class ScreenHold {
    /** A run is on the screen, or one that is not sealed yet. */
    var isHeld = false
        private set
    private var brightness = WindowManager.LayoutParams.BRIGHTNESS_OVERRIDE_NONE
    private var frozen: Int? = null

    /** Start was asked for on a locked phone: shown over the lock until it is clear whether a run begins. */
    private var isBeginning = false

    fun hold(activity: Activity?) {
        isHeld = true
        isBeginning = false
        if (frozen == null && activity != null) frozen = now(activity)
        lay(activity)
    }

    fun letGo(activity: Activity?) {
        isHeld = false
        isBeginning = false
        frozen = null
        lay(activity)
    }

    fun begin(activity: Activity) {
        isBeginning = !isHeld
        lay(activity)
    }

    /** The app is not in front any more; a start that led to no run shows nothing over the lock next time. */
    fun hidden(activity: Activity?) {
        if (!isBeginning) return
        isBeginning = false
        lay(activity)
    }

    /** Per cent; `null` leaves it to the phone. */
    fun brightness(pct: Int?, activity: Activity?) {
        brightness = if (pct == null) NONE else pct.coerceIn(1, 100) / 100f
        lay(activity)
    }

    fun lay(activity: Activity?) {
        val window = activity?.window ?: return
        if (isHeld) window.addFlags(KEEP_ON) else window.clearFlags(KEEP_ON)
        overTheLock(activity, isHeld || isBeginning)
        val attributes = window.attributes
        if (attributes.screenBrightness != brightness) {
            attributes.screenBrightness = brightness
            window.attributes = attributes
        }
        activity.requestedOrientation = frozen ?: ActivityInfo.SCREEN_ORIENTATION_UNSPECIFIED
    }

    private fun overTheLock(activity: Activity, on: Boolean) {
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.O_MR1) {
            activity.setShowWhenLocked(on)
            activity.setTurnScreenOn(on)
        } else if (on) {
            activity.window.addFlags(OVER_LOCK)
        } else {
            activity.window.clearFlags(OVER_LOCK)
        }
    }

    private fun now(activity: Activity): Int {
        @Suppress("DEPRECATION")
        val rotation = activity.windowManager.defaultDisplay.rotation
        return Quarter.now(rotation, activity.resources.configuration.orientation)
    }

    private companion object {
        const val NONE = WindowManager.LayoutParams.BRIGHTNESS_OVERRIDE_NONE
        const val KEEP_ON = WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON

        @Suppress("DEPRECATION")
        const val OVER_LOCK =
            WindowManager.LayoutParams.FLAG_SHOW_WHEN_LOCKED or WindowManager.LayoutParams.FLAG_TURN_SCREEN_ON
    }
}
