package org.carrybeat.phone

import android.app.NotificationManager
import android.app.Service
import android.content.Context
import android.content.Intent
import android.content.pm.ServiceInfo
import android.os.Build
import android.os.PowerManager

/** What [RunService] does, apart from the system's class so that it runs on any JVM. */
internal class RunKeeper(
    private val service: Service,
    private val isHeld: () -> Boolean,
    private val serving: (Boolean) -> Unit,
    private val swipedAway: () -> Unit,
) {
    private var wake: PowerManager.WakeLock? = null

    /** The service is asked to run; what the system is to do if it ends the process. */
    fun command(intent: Intent?, startId: Int): Int {
        if (intent == null) {
            // The system ended the process and made the service anew: there is no Rust here, and no run.
            RunNotice.broken(service, notices())
            service.stopSelf(startId)
            return Service.START_NOT_STICKY
        }
        return try {
            foreground(intent)
            if (!isHeld()) {
                // The run was over before the service began.
                service.stopSelf(startId)
                return Service.START_NOT_STICKY
            }
            stayAwake()
            serving(true)
            Service.START_STICKY
        } catch (_: RuntimeException) {
            // Not allowed; each version of the system has an exception of its own for it.
            serving(false)
            service.stopSelf(startId)
            Service.START_NOT_STICKY
        }
    }

    /** The app was swiped out of the list of recent ones: the run goes on, so the app comes back, or asks to. */
    fun swiped() {
        if (!isHeld()) return
        RunNotice.launch(service)?.let(::come)
        swipedAway()
    }

    private fun come(launch: Intent) {
        launch.addFlags(Intent.FLAG_ACTIVITY_NEW_TASK)
        try {
            service.startActivity(launch)
        } catch (_: RuntimeException) {
            // Not allowed; a notice asks for it in a moment, as where the system says nothing.
        }
    }

    fun end() {
        wake?.let { if (it.isHeld) it.release() }
        wake = null
        // In a run it was not us who ended it.
        if (isHeld()) serving(false)
    }

    private fun foreground(intent: Intent) {
        RunNotice.channel(notices(), intent.getStringExtra(CHANNEL).orEmpty())
        val title = intent.getStringExtra(TITLE).orEmpty()
        val notice = RunNotice.run(service, title, intent.getStringExtra(TEXT).orEmpty())
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.Q) {
            service.startForeground(RunNotice.RUN, notice, ServiceInfo.FOREGROUND_SERVICE_TYPE_MEDIA_PLAYBACK)
        } else {
            service.startForeground(RunNotice.RUN, notice)
        }
    }

    private fun stayAwake() {
        val lock = wake ?: power().newWakeLock(PowerManager.PARTIAL_WAKE_LOCK, "carrybeat:run")
        lock.setReferenceCounted(false)
        lock.acquire(AWAKE_MS)
        wake = lock
    }

    private fun power() = service.getSystemService(Context.POWER_SERVICE) as PowerManager

    private fun notices() = service.getSystemService(Context.NOTIFICATION_SERVICE) as NotificationManager

    companion object {
        /** A run of 90 minutes and much more; it ends even if nobody ends it. */
        const val AWAKE_MS = 4 * 60 * 60 * 1000L
        const val CHANNEL = "channel"
        const val TITLE = "title"
        const val TEXT = "text"
    }
}
