package org.carrybeat.phone

import android.app.Notification
import android.app.NotificationChannel
import android.app.NotificationManager
import android.app.PendingIntent
import android.content.Context
import android.content.Intent
import android.os.Build

/**
 * The notices that the system shows: quietly that a run goes on, loudly that one broke off or that nobody sees it.
 * Nothing in them is about a patient, so the lock hides nothing of them.
 */
internal object RunNotice {
    const val RUN = 1
    const val BROKEN = 2
    const val UNSEEN = 3
    private const val RUN_CHANNEL = "run"
    private const val BROKEN_CHANNEL = "broken"

    fun channel(notices: NotificationManager, name: String) = channel(notices, RUN_CHANNEL, name, QUIET)

    fun run(context: Context, title: String, text: String): Notification? {
        val notice = notice(context, RUN_CHANNEL, title, text)
        notice.setOngoing(true)
        notice.setCategory(Notification.CATEGORY_SERVICE)
        // Else newer systems wait ten seconds with it.
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) {
            notice.setForegroundServiceBehavior(Notification.FOREGROUND_SERVICE_IMMEDIATE)
        }
        return notice.build()
    }

    /** The system ended us in a run. It may forbid to start the app; this asks somebody to. */
    fun broken(context: Context, notices: NotificationManager) =
        aloud(context, notices, BROKEN, R.string.phone_broken_title, R.string.phone_broken_text)

    /** The app was swiped away in a run, which goes on; the system does not let the app come back by itself. */
    fun unseen(context: Context, notices: NotificationManager) =
        aloud(context, notices, UNSEEN, R.string.phone_unseen_title, R.string.phone_unseen_text)

    private fun aloud(context: Context, notices: NotificationManager, id: Int, title: Int, text: Int) {
        channel(notices, BROKEN_CHANNEL, context.getString(R.string.phone_broken_channel), LOUD)
        val notice = notice(context, BROKEN_CHANNEL, context.getString(title), context.getString(text))
        notice.setAutoCancel(true)
        notice.setCategory(Notification.CATEGORY_ALARM)
        notices.notify(id, notice.build())
    }

    private fun channel(notices: NotificationManager, id: String, name: String, importance: Int) {
        val channel = NotificationChannel(id, name, importance)
        channel.lockscreenVisibility = Notification.VISIBILITY_PUBLIC
        channel.setShowBadge(false)
        if (importance == QUIET) channel.setSound(null, null)
        notices.createNotificationChannel(channel)
    }

    private fun notice(context: Context, channel: String, title: String, text: String): Notification.Builder {
        val builder = Notification.Builder(context, channel)
        builder.setSmallIcon(R.drawable.phone_notice)
        builder.setContentTitle(title)
        builder.setContentText(text)
        builder.setVisibility(Notification.VISIBILITY_PUBLIC)
        builder.setContentIntent(open(context))
        return builder
    }

    private fun open(context: Context): PendingIntent? {
        val open = launch(context) ?: return null
        return PendingIntent.getActivity(context, 0, open, PendingIntent.FLAG_IMMUTABLE)
    }

    /** Opens the app as its icon does. */
    fun launch(context: Context): Intent? =
        context.packageManager.getLaunchIntentForPackage(context.packageName)

    private const val QUIET = NotificationManager.IMPORTANCE_LOW
    private const val LOUD = NotificationManager.IMPORTANCE_HIGH
}
