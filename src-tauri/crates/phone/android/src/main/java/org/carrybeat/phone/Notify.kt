package org.carrybeat.phone

import android.Manifest
import android.app.Activity
import android.content.pm.PackageManager
import android.os.Build

/**
 * Asks whether notices may be shown, once a process and never in the way of a start or a run. The run is held either
 * way; without them only its line in the list of notices is missing.
 */
internal class Notify {
    private var isAsked = false

    fun front(activity: Activity, isBusy: Boolean) {
        if (isAsked || isBusy || Build.VERSION.SDK_INT < Build.VERSION_CODES.TIRAMISU) return
        isAsked = true
        val permission = Manifest.permission.POST_NOTIFICATIONS
        if (activity.checkSelfPermission(permission) == PackageManager.PERMISSION_GRANTED) return
        activity.requestPermissions(arrayOf(permission), CODE)
    }

    private companion object {
        const val CODE = 26
    }
}
