package org.carrybeat.phone

import android.content.pm.ActivityInfo
import android.content.res.Configuration
import android.view.Surface

/** The four ways up that a screen can be frozen in. Calls nothing of the system. */
internal object Quarter {
    private val ROUND =
        listOf(
            ActivityInfo.SCREEN_ORIENTATION_PORTRAIT,
            ActivityInfo.SCREEN_ORIENTATION_LANDSCAPE,
            ActivityInfo.SCREEN_ORIENTATION_REVERSE_PORTRAIT,
            ActivityInfo.SCREEN_ORIENTATION_REVERSE_LANDSCAPE,
        )

    /**
     * What freezes the screen as it is: `rotation` is the display's against its natural way up (a constant of
     * Surface), `shape` the configuration's orientation.
     */
    fun now(rotation: Int, shape: Int): Int {
        val isTall = shape != Configuration.ORIENTATION_LANDSCAPE
        val isOnItsSide = rotation == Surface.ROTATION_90 || rotation == Surface.ROTATION_270
        val isTallByNature = isTall != isOnItsSide
        return when (rotation) {
            Surface.ROTATION_90 -> if (isTallByNature) ROUND[1] else ROUND[0]
            Surface.ROTATION_180 -> if (isTallByNature) ROUND[2] else ROUND[3]
            Surface.ROTATION_270 -> if (isTallByNature) ROUND[3] else ROUND[2]
            else -> if (isTallByNature) ROUND[0] else ROUND[1]
        }
    }
}
