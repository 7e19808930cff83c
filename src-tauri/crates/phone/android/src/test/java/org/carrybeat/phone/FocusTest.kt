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
        assertEquals(2_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS))
        assertTrue(rules.isTaken)
        val waits = List(3) { rules.answered(AudioManager.AUDIOFOCUS_REQUEST_FAILED) }
        assertEquals(listOf(5_000L, 10_000L, 10_000L), waits)
        assertEquals(null, rules.answered(AudioManager.AUDIOFOCUS_REQUEST_GRANTED))
        assertFalse(rules.isTaken)
        assertEquals("the waits begin anew", 2_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS))
    }

    @Test
    fun `what was taken for a moment is waited for`() {
        assertEquals(30_000L, rules.changed(AudioManager.AUDIOFOCUS_LOSS_TRANSIENT))
        assertTrue(rules.isTaken)
        assertEquals(null, rules.changed(AudioManager.AUDIOFOCUS_GAIN))
        assertFalse(rules.isTaken)
    }

    @Test
    fun `an announcement over us takes nothing`() {
        assertEquals(null, rules.changed(AudioManager.AUDIOFOCUS_LOSS_TRANSIENT_CAN_DUCK))
        assertFalse(rules.isTaken)
    }

    @Test
    fun `a request in a call is put off and the sound is not ours`() {
        assertEquals(30_000L, rules.answered(AudioManager.AUDIOFOCUS_REQUEST_DELAYED))
        assertTrue(rules.isTaken)
    }

    private val audio = mock(AudioManager::class.java)
    private val handler = mock(Handler::class.java)
    private val request = mock(AudioFocusRequest::class.java)
    private val heard = Heard()
    private val moved = ArrayList<Boolean>()
    private lateinit var listener: AudioManager.OnAudioFocusChangeListener
    private val focus =
        Focus(audio, handler, heard.post, moved::add) {
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
