package org.carrybeat.phone

/**
 * When a page whose process is gone is made again. Calls nothing of the system; times are ms since the phone's start.
 *
 * In front at once. Behind other apps the phone was short of memory, and a new page would only be the next to go: it
 * waits until somebody looks. One that goes again and again waits a little longer each time; it never gives up, since
 * without a page there is no way to mark anything.
 */
internal class Remake {
    private val gone = ArrayDeque<Long>()

    /** A page waits for the app to be in front. */
    var isOwed = false
        private set

    /** Returns in how many ms to make it anew, `null` if it waits for the app to be in front. */
    fun gone(now: Long, isFront: Boolean): Long? {
        gone.addLast(now)
        while (now - gone.first() > WINDOW_MS) gone.removeFirst()
        if (!isFront) {
            isOwed = true
            return null
        }
        return wait()
    }

    /** The app came to the front. Returns in how many ms to make the page anew, `null` if none is owed. */
    fun front(): Long? {
        if (!isOwed) return null
        isOwed = false
        return 0
    }

    private fun wait(): Long = if (gone.size == 1) 0 else (STEP_MS * (gone.size - 1)).coerceAtMost(MOST_MS)

    private companion object {
        const val WINDOW_MS = 60_000L
        const val STEP_MS = 500L
        const val MOST_MS = 5_000L
    }
}
