package org.carrybeat.phone

import android.app.Service
import android.content.Context
import android.content.Intent
import android.os.IBinder

/**
 * Keeps the process alive while a run goes on and the app is not in front: a foreground service of the kind
 * `mediaPlayback`, and a wake lock, so that the rules' clock goes on in the dark.
 *
 * It is started while the app is in front, never later: Android lets a service that was started from the background
 * play nothing. It goes on through calls and silence by design.
 */
class RunService : Service() {
    private val keeper =
        RunKeeper(this, { Phone.of(this).isHeld }, { Phone.of(this).serving(it) }, { Phone.of(this).swiped() })

    override fun onBind(intent: Intent?): IBinder? = null

    override fun onStartCommand(intent: Intent?, flags: Int, startId: Int): Int = keeper.command(intent, startId)

    override fun onTaskRemoved(rootIntent: Intent?) = keeper.swiped()

    override fun onDestroy() {
        keeper.end()
        super.onDestroy()
    }

    companion object {
        /** Whether the system takes it; that it runs is told by the service itself. */
        internal fun start(context: Context, args: HoldArgs): Boolean {
            val intent = Intent(context, RunService::class.java)
            intent.putExtra(RunKeeper.CHANNEL, args.channel)
            intent.putExtra(RunKeeper.TITLE, args.title)
            intent.putExtra(RunKeeper.TEXT, args.text)
            return try {
                context.startForegroundService(intent)
                true
            } catch (_: RuntimeException) {
                false
            }
        }

        internal fun stop(context: Context) {
            context.stopService(Intent(context, RunService::class.java))
        }
    }
}
