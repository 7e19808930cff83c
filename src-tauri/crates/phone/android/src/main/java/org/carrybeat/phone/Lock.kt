package org.carrybeat.phone

import android.app.KeyguardManager
import android.content.Context
import android.content.Intent
import android.content.IntentFilter
import android.os.PowerManager

/** Whether the screen is lit and the phone locked. A run shown over the lock is still a locked phone. */
internal class Lock(
    private val context: Context,
    private val power: PowerManager,
    private val guard: KeyguardManager,
    private val post: Post,
) {
    private var isStarted = false

    fun start() {
        if (!isStarted) {
            isStarted = true
            val changes = IntentFilter(Intent.ACTION_SCREEN_ON)
            changes.addAction(Intent.ACTION_SCREEN_OFF)
            changes.addAction(Intent.ACTION_USER_PRESENT)
            context.hear(changes) { look() }
        }
        look()
    }

    /** Many phones lock only some seconds after the screen went dark, and say nothing then: the next look sees it. */
    fun look() {
        post.tell(News.lit(power.isInteractive))
        post.tell(News.locked(guard.isKeyguardLocked))
    }
}
