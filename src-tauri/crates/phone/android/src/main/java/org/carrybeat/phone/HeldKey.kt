package org.carrybeat.phone

import android.view.KeyEvent

/**
 * The louder key, held down, asks for Start. It is only watched: the key turns the volume up as ever, which a run
 * wants anyway. The quieter key would silence the phone first, so that it asks for nothing.
 */
internal class HeldKey {
    private var isTold = false

    /** `true` once a press, when it has lasted long enough. */
    fun take(code: Int, action: Int, downAt: Long, now: Long): Boolean {
        if (code != KeyEvent.KEYCODE_VOLUME_UP) return false
        if (action != KeyEvent.ACTION_DOWN) {
            isTold = false
            return false
        }
        if (now == downAt) isTold = false
        if (isTold || now - downAt < LONG_MS) return false
        isTold = true
        return true
    }

    private companion object {
        /** Longer than turning it up by hand takes for a step. Source: the project's own choice. */
        const val LONG_MS = 1_000L
    }
}
