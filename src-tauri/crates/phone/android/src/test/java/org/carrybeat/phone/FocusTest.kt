package org.carrybeat.phone

import android.media.AudioFocusRequest
import android.media.AudioManager
import android.os.Handler
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyLong
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

class FocusTest {
    private val rules = FocusRules()

    @Test
    fun `what was taken for good is asked back, less often each time`() {
        assertEquals(2_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS, 0))
        assertTrue(rules.isTaken)
        val waits = List(3) { rules.answered(AudioManager.AUDIOFOCUS_REQUEST_FAILED, 2_000L + 10_000L * it) }
        assertEquals(listOf(5_000L, 10_000L, 10_000L), waits)
        assertEquals(null, rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED, 200_000))
        assertFalse(rules.isTaken)
        assertEquals("it was ours for no time", 10_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS, 200_000))
    }

    /** Two apps that ask back: ours is granted at once, and taken again a tenth of a second later. */
    @Test
    fun `against an app that asks back the waits grow, until the sound was kept for a minute`() {
        var now = 0L
        val waits = ArrayList<Long?>()
        repeat(4) {
            waits.add(rules.changed(AudioManager.AUDIOFOCUS_LOSS, now))
            now += waits.last() ?: 0
            assertEquals(null, rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED, now))
            now += 100
        }
        assertEquals(listOf(2_000L, 5_000L, 10_000L, 10_000L), waits)
        now += 59_899
        assertEquals("59,999 ms", 10_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS, now))
        // Told again that it is ours: since when does not change. A moment's loss ends it.
        rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED, now + 10_000)
        rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED, now + 40_000)
        assertEquals("60,000 ms", 2_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS, now + 70_000))
        rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED, now + 72_000)
        rules.changed(AudioManager.AUDIOFOCUS_LOSS_TRANSIENT, now + 102_000)
        rules.changed(AudioManager.AUDIOFOCUS_GAIN, now + 103_000)
        assertEquals("30 s twice", 5_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS, now + 133_000))
    }

    @Test
    fun `what was taken for a moment is waited for`() {
        assertEquals(30_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS_TRANSIENT, 0))
        assertTrue(rules.isTaken)
        assertEquals(null, rules.changed(AudioManager.AUDIOFOCUS_GAIN, 1_000))
        assertFalse(rules.isTaken)
    }

    @Test
    fun `an announcement over us takes nothing`() {
        assertEquals(null, rules.changed(AudioManager.AUDIOFOCUS_LOSS_TRANSIENT_CAN_DUCK, 0))
        assertFalse(rules.isTaken)
    }

    @Test
    fun `a request in a call is put off and the sound is not ours`() {
        assertEquals(30_000L, rules.answered(AudioManager.AUDIOFOCUS_REQUEST_DELAYED, 0))
        assertTrue(rules.isTaken)
    }

    private val audio = mock(AudioManager::class.java)
    private val handler = mock(Handler::class.java)
    private val request = mock(AudioFocusRequest::class.java)
    private val heard = Heard()
    private val moved = ArrayList<Boolean>()
    private lateinit var listener: AudioManager.OnAudioFocusChangeListener
    private val focus =
        Focus(audio, handler, heard.post, moved::add, { 0L }) {
            listener = it
            request
        }

    private fun taken(on: Boolean) = """{"around":{"what":"taken","on":$on}}"""

    @Test
    fun `a run asks for the focus, asks again after a loss, and gives it back`() {
        `when`(audio.requestAudioFocus(request)).thenReturn(AudioManager.AUDIOFOCUS_REQUEST_GRANTED)
        focus.hold()
        assertEquals(listOf(taken(false)), heard.take())
        verify(handler, never()).postDelayed(any(Runnable::class.java), anyLong())

        listener.onAudioFocusChange(AudioManager.AUDIOFOCUS_LOSS)
        assertEquals(listOf(taken(true)), heard.take())
        val again = org.mockito.ArgumentCaptor.forClass(Runnable::class.java)
        verify(handler).postDelayed(again.capture(), org.mockito.ArgumentMatchers.eq(2_000L))
        again.value.run()
        verify(audio, times(2)).requestAudioFocus(request)
        assertEquals(listOf(taken(false)), heard.take())
        assertEquals("who reads the mode hears of each move", listOf(false, true, false), moved)

        focus.letGo()
        verify(audio).abandonAudioFocusRequest(request)
        // What comes late changes nothing.
        listener.onAudioFocusChange(AudioManager.AUDIOFOCUS_LOSS)
        assertEquals(emptyList<String>(), heard.take())
        assertEquals(listOf(false, true, false, false), moved)
        verify(handler, times(1)).postDelayed(any(Runnable::class.java), anyLong())
    }

    @Test
    fun `let go while it is taken tells that nobody has it`() {
        `when`(audio.requestAudioFocus(request)).thenReturn(AudioManager.AUDIOFOCUS_REQUEST_FAILED)
        focus.hold()
        focus.letGo()
        assertEquals(listOf(taken(true), taken(false)), heard.take())
    }
}
