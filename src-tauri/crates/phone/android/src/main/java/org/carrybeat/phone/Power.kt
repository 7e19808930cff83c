package org.carrybeat.phone

import android.app.ActivityManager
import android.content.Context
import android.content.Intent
import android.content.IntentFilter
import android.os.BatteryManager
import android.os.Build
import android.os.PowerManager

/**
 * The battery, and what the phone does to save it.
 *
 * A phone that has lain still with a dark screen for long sleeps deeper (Doze) and then heeds no wake lock of an app
 * that is not exempt from it. The sound's own server keeps one of its own while a stream plays, which is why silence
 * by design keeps the stream alive; still it is told as saving.
 */
internal class Power(
    private val context: Context,
    private val power: PowerManager,
    private val activities: ActivityManager,
    private val post: Post,
) {
    private var isStarted = false

    fun start() {
        if (!isStarted) {
            isStarted = true
            context.hear(IntentFilter(Intent.ACTION_BATTERY_CHANGED), ::battery)?.let(::battery)
            val changes = IntentFilter(PowerManager.ACTION_POWER_SAVE_MODE_CHANGED)
            changes.addAction(PowerManager.ACTION_DEVICE_IDLE_MODE_CHANGED)
            context.hear(changes) { look() }
        }
        look()
    }

    fun look() {
        val isExempt = power.isIgnoringBatteryOptimizations(context.packageName)
        post.tell(News.saving(isSaving(power.isPowerSaveMode, power.isDeviceIdleMode, isExempt)))
    }

    /** The user or the phone has forbidden the app to do anything while it is not in front. */
    fun isForbidden(): Boolean =
        Build.VERSION.SDK_INT >= Build.VERSION_CODES.P && activities.isBackgroundRestricted

    private fun battery(changed: Intent) {
        val level = changed.getIntExtra(BatteryManager.EXTRA_LEVEL, -1)
        val full = changed.getIntExtra(BatteryManager.EXTRA_SCALE, -1)
        val pct = pct(level, full) ?: return
        post.tell(News.battery(pct, isCharging(changed.getIntExtra(BatteryManager.EXTRA_STATUS, -1))))
    }

    companion object {
        fun isSaving(mode: Boolean, isIdle: Boolean, isExempt: Boolean) = mode || (isIdle && !isExempt)

        fun pct(level: Int, full: Int): Int? = if (level < 0 || full <= 0) null else 100 * level / full

        fun isCharging(status: Int) =
            status == BatteryManager.BATTERY_STATUS_CHARGING || status == BatteryManager.BATTERY_STATUS_FULL
    }
}
