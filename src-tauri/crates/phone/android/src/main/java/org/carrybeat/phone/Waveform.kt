package org.carrybeat.phone

/**
 * Pulses as the vibrator wants them: off for so long, on for so long, off, and so on. Calls nothing of the system.
 */
internal class Waveform private constructor(val timings: LongArray) {
    /** As strong as the motor can where it is on. */
    val amplitudes: IntArray
        get() = IntArray(timings.size) { if (it % 2 == 0) 0 else STRONGEST }

    companion object {
        private const val STRONGEST = 255

        /** `null` if nothing is to be felt. Pulses may come in any order; those that touch or overlap are one. */
        fun of(pulses: List<FeltPulse>): Waveform? {
            val timings = ArrayList<Long>()
            var end = 0L
            for (pulse in pulses.filter { it.lenMs > 0 }.sortedBy { it.inMs }) {
                val from = pulse.inMs.coerceAtLeast(0)
                val until = from + pulse.lenMs
                if (timings.isNotEmpty() && from <= end) {
                    if (until > end) {
                        timings[timings.lastIndex] += until - end
                        end = until
                    }
                } else {
                    timings.add(from - end)
                    timings.add(until - from)
                    end = until
                }
            }
            return if (timings.isEmpty()) null else Waveform(timings.toLongArray())
        }
    }
}
