package org.carrybeat.phone

import android.media.AudioAttributes
import android.os.VibrationAttributes
import android.os.VibrationEffect
import android.os.Vibrator
import org.junit.Assert.assertArrayEquals
import org.junit.Assert.assertEquals
import org.junit.Assert.assertNull
import org.junit.Assume.assumeTrue
import org.junit.Test
import org.mockito.ArgumentMatchers.isNull
import org.mockito.Mockito.mock
import org.mockito.Mockito.verify
import org.mockito.Mockito.verifyNoMoreInteractions

class FeltTest {
    private fun timings(vararg pulses: Pair<Long, Long>): List<Long>? =
        Waveform.of(pulses.map { FeltPulse(it.first, it.second) })?.timings?.toList()

    @Test
    fun `two beats at 110 a minute`() {
        assertEquals(listOf(0L, 120L, 425L, 60L), timings(0L to 120L, 545L to 60L))
    }

    @Test
    fun `the first may be some time off`() {
        assertEquals(listOf(300L, 60L), timings(300L to 60L))
    }

    @Test
    fun `their order does not matter`() {
        assertEquals(listOf(100L, 50L, 350L, 60L), timings(500L to 60L, 100L to 50L))
    }

    @Test
    fun `pulses that touch or overlap are one`() {
        assertEquals(listOf(0L, 160L), timings(0L to 100L, 100L to 60L))
        assertEquals(listOf(0L, 150L), timings(0L to 100L, 50L to 100L))
        assertEquals("one lies in the other", listOf(0L, 700L, 300L, 60L), timings(0L to 700L, 200L to 60L, 1000L to 60L))
    }

    @Test
    fun `none is none`() {
        assertNull(timings())
        assertNull(timings(10L to 0L))
    }

    @Test
    fun `strong where it is on`() {
        val wave = Waveform.of(listOf(FeltPulse(10, 60), FeltPulse(600, 60)))
        assertArrayEquals(intArrayOf(0, 255, 0, 255), wave?.amplitudes)
    }

    private val vibrator = mock(Vibrator::class.java)

    @Test
    fun `nothing to feel ends what was felt`() {
        Felt(vibrator).feel(emptyList())
        verify(vibrator).cancel()
        verifyNoMoreInteractions(vibrator)
    }

    @Test
    fun `an old phone and a new one are told in their own words`() {
        Felt(vibrator).feel(listOf(FeltPulse(0, 60)))
        verify(vibrator).vibrate(isNull<VibrationEffect>(), isNull<AudioAttributes>())
        val isChecked =
            onSdk(33) {
                Felt(vibrator).feel(listOf(FeltPulse(0, 60)))
                verify(vibrator).vibrate(isNull<VibrationEffect>(), isNull<VibrationAttributes>())
            }
        assumeTrue(isChecked)
    }
}
