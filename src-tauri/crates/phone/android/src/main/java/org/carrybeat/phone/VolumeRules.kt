package org.carrybeat.phone

/**
 * Turns the phone up for a run and back down after it. Calls nothing of the system; steps are the stream's own.
 *
 * Only the phone's own speaker is turned up: a headset may be in somebody's ear. What somebody turned by hand in the
 * run stays as they left it.
 */
internal class VolumeRules {
    private var wishedPct: Int? = null
    private var before: Int? = null
    private var ours = 0

    /** A run wants so much, per cent; `null` leaves it. */
    fun wish(pct: Int?) {
        wishedPct = pct
    }

    /** The step to set now, `null` to leave it. Once a run: what was turned down by hand is not turned up again. */
    fun raise(step: Int, max: Int, isSpeaker: Boolean): Int? {
        val pct = wishedPct ?: return null
        if (!isSpeaker || max <= 0) return null
        wishedPct = null
        val wanted = ((max * pct.coerceIn(0, 100)) + 99) / 100
        if (wanted <= step) return null
        before = step
        ours = wanted
        return wanted
    }

    /** The run is over: the step to set, `null` to leave it. */
    fun back(step: Int, isSpeaker: Boolean): Int? {
        wishedPct = null
        val old = before ?: return null
        // On another route the step is another one's.
        if (!isSpeaker) return null
        before = null
        return old.takeIf { step == ours }
    }

    companion object {
        fun pct(step: Int, max: Int, isMuted: Boolean): Int =
            if (isMuted || max <= 0 || step <= 0) 0 else (100 * step.coerceAtMost(max) / max).coerceAtLeast(1)
    }
}
