package org.carrybeat.phone

import android.os.Handler

/**
 * The app was swiped away in a run and asked to come back. Most systems forbid that to an app that is not in front,
 * and do so without a word: whether it came is looked at, and if not, somebody is asked to bring it back.
 */
internal class Unseen(
    private val handler: Handler,
    private val isSeen: () -> Boolean,
    private val ask: () -> Unit,
) {
    private val look = Runnable { if (!isSeen()) ask() }

    fun swiped() {
        handler.removeCallbacks(look)
        handler.postDelayed(look, WAIT_MS)
    }

    companion object {
        /** An app that may come back is there by then. Source: ours. */
        const val WAIT_MS = 2_000L
    }
}
