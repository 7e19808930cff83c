package org.carrybeat.phone

import android.media.AudioManager

/**
 * Whose the sound is, and when it is asked for again. Calls nothing of the system.
 *
 * In a run nobody's sound is more important than ours but a call's. So what another app took for good is asked back
 * after a moment, again and again; what it took for a moment the system gives back itself, and is asked for only if
 * that does not come. A request in a call is refused or put off, and costs nothing.
 */
internal class FocusRules {
    /** Another app has the sound. */
    var isTaken = false
        private set
    private var tries = 0

    /** Since when it has been ours without a break. */
    private var oursSince: Long? = null

    /** Nothing is asked for yet, or any more. */
    fun reset() {
        isTaken = false
        tries = 0
        oursSince = null
    }

    /** The system told of a change, at `now` in ms. Returns in how many ms to ask again, `null` if not. */
    fun changed(change: Int, now: Long): Long? =
        when (change) {
            AudioManager.AUDIOFOCUS_GAIN -> given(now)
            AudioManager.AUDIOFOCUS_LOSS -> {
                taken(now)
                next()
            }
            AudioManager.AUDIOFOCUS_LOSS_TRANSIENT -> {
                taken(now)
                LENT_MS
            }
            // The other one speaks over us and does not ask for silence: the beat stays as loud as it is.
            AudioManager.AUDIOFOCUS_LOSS_TRANSIENT_CAN_DUCK -> null
            else -> null
        }

    /** A request was answered, at `now` in ms. Returns in how many ms to ask again, `null` if not. */
    fun answered(answer: Int, now: Long): Long? =
        when (answer) {
            AudioManager.AUDIOFOCUS_REQUEST_GRANTED -> given(now)
            // The system gives it by itself, as a change, once the call is over.
            AudioManager.AUDIOFOCUS_REQUEST_DELAYED -> {
                taken(now)
                LENT_MS
            }
            else -> {
                taken(now)
                next()
            }
        }

    private fun given(now: Long): Long? {
        isTaken = false
        oursSince = oursSince ?: now
        return null
    }

    private fun taken(now: Long) {
        isTaken = true
        val since = oursSince ?: return
        oursSince = null
        if (now - since >= KEPT_MS) tries = 0
    }

    private fun next(): Long {
        val wait = WAITS_MS[tries.coerceAtMost(WAITS_MS.lastIndex)]
        tries++
        return wait
    }

    private companion object {
        /** Two apps that both ask back at once would chop each other's sound. Source: the project's own choice. */
        val WAITS_MS = longArrayOf(2_000, 5_000, 10_000)

        /**
         * Kept so long, it was not taken by who asks back at once: the waits begin anew. Counted from each grant alone they
         * would be the first for ever. Source: the project's own choice.
         */
        const val KEPT_MS = 60_000L

        /** Longer than an announcement or a ring. Source: the project's own choice. */
        const val LENT_MS = 30_000L
    }
}
