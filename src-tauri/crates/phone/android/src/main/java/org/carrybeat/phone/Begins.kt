package org.carrybeat.phone

import android.app.PendingIntent
import android.content.ComponentName
import android.content.Context
import android.content.Intent

/**
 * Start asked for outside the page: by the tile, the shortcut, a held key. What is asked before Rust listens waits
 * for it; what is too old is dropped. Times are ms since the phone's start.
 */
internal class Begins {
    private var touchedAt: Long? = null
    private var byKey = false

    val isWaiting: Boolean
        get() = touchedAt != null

    fun asked(touchedAt: Long, byKey: Boolean) {
        this.touchedAt = touchedAt
        this.byKey = byKey
    }

    /** What is to be told now, once. */
    fun take(now: Long): News? {
        val at = touchedAt ?: return null
        touchedAt = null
        val ago = now - at
        return if (ago in 0..STALE_MS) News.begin(ago, byKey) else null
    }

    companion object {
        /** An app that took longer to start is on somebody's screen by now, who can press Start. */
        private const val STALE_MS = 15_000L

        /** The alias of the activity that asks for Start; not exported, so that no other app can begin a run. */
        private const val ALIAS = "org.carrybeat.app.Begin"
        private const val ACTION = "org.carrybeat.app.BEGIN"
        private const val TOUCHED_AT = "touched_at"

        fun intent(context: Context, touchedAt: Long): Intent {
            val intent = Intent(ACTION)
            intent.component = ComponentName(context.packageName, ALIAS)
            intent.putExtra(TOUCHED_AT, touchedAt)
            intent.addFlags(Intent.FLAG_ACTIVITY_NEW_TASK)
            return intent
        }

        fun pending(context: Context, touchedAt: Long): PendingIntent =
            PendingIntent.getActivity(
                context,
                0,
                intent(context, touchedAt),
                PendingIntent.FLAG_UPDATE_CURRENT or PendingIntent.FLAG_IMMUTABLE,
            )

        /** When the finger went down that sent this intent, `null` if it asks for no start. */
        fun touchedAt(intent: Intent?, isRestored: Boolean, now: Long, processSince: Long): Long? {
            if (intent == null || intent.component?.className != ALIAS) return null
            val told = intent.getLongExtra(TOUCHED_AT, NONE)
            return touchedAt(told, isRestored || fromHistory(intent.flags), now, processSince)
        }

        /**
         * The tile tells the moment. A shortcut cannot: it started this process or, if that is older, happened just
         * now. An activity that is made again, or taken out of the list of recent ones, brings its old intent along.
         */
        fun touchedAt(told: Long, isOld: Boolean, now: Long, processSince: Long): Long? =
            when {
                isOld -> null
                told in 0..now -> told
                now - processSince in 0..COLD_MS -> processSince
                else -> now
            }

        private fun fromHistory(flags: Int) = flags and Intent.FLAG_ACTIVITY_LAUNCHED_FROM_HISTORY != 0

        private const val NONE = -1L

        /** A process that shows its first activity within this was started for it. */
        private const val COLD_MS = 5_000L
    }
}
