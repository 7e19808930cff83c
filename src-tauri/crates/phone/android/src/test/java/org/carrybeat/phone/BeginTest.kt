package org.carrybeat.phone

import android.content.ComponentName
import android.content.Intent
import android.view.KeyEvent
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertNull
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.ArgumentMatchers.anyLong
import org.mockito.ArgumentMatchers.anyString
import org.mockito.Mockito.`when`
import org.mockito.Mockito.mock

/** Start asked for outside the page, and the page's own process. */
class BeginTest {
    @Test
    fun `told once, with how long ago the finger went down`() {
        val begins = Begins()
        begins.asked(1_000, byKey = false)
        assertTrue(begins.isWaiting)
        assertEquals(News.begin(120, false).json, begins.take(1_120)?.json)
        assertNull(begins.take(1_130))
        begins.asked(2_000, byKey = true)
        assertEquals(News.begin(0, true).json, begins.take(2_000)?.json)
    }

    @Test
    fun `too old is not told`() {
        val begins = Begins()
        begins.asked(1_000, byKey = false)
        assertNull(begins.take(17_000))
        assertFalse(begins.isWaiting)
    }

    @Test
    fun `a tile tells the moment, a shortcut the process's or this one`() {
        assertEquals(4_000L, Begins.touchedAt(told = 4_000, isOld = false, now = 5_000, processSince = 100))
        assertEquals("cold", 4_200L, Begins.touchedAt(told = -1, isOld = false, now = 5_000, processSince = 4_200))
        assertEquals("warm", 90_000L, Begins.touchedAt(told = -1, isOld = false, now = 90_000, processSince = 4_200))
        assertEquals("in the future", 5_000L, Begins.touchedAt(told = 9_000, isOld = false, now = 5_000, processSince = -1))
    }

    @Test
    fun `an activity that is made again asks for no second start`() {
        assertNull(Begins.touchedAt(told = 4_000, isOld = true, now = 5_000, processSince = 100))
    }

    private fun intent(target: String?, flags: Int = 0): Intent {
        val component = mock(ComponentName::class.java)
        `when`(component.className).thenReturn(target)
        val intent = mock(Intent::class.java)
        `when`(intent.component).thenReturn(component.takeIf { target != null })
        `when`(intent.flags).thenReturn(flags)
        `when`(intent.getLongExtra(anyString(), anyLong())).thenReturn(4_000)
        return intent
    }

    private fun asked(intent: Intent?, isRestored: Boolean = false) = Begins.touchedAt(intent, isRestored, 5_000, 100)

    @Test
    fun `only the way in that no other app has asks for a start`() {
        assertEquals(4_000L, asked(intent("org.carrybeat.app.Begin")))
        assertNull(asked(intent("org.carrybeat.app.MainActivity")))
        assertNull(asked(intent(null)))
        assertNull(asked(null))
    }

    @Test
    fun `an intent out of the list of recent apps is an old one`() {
        assertNull(asked(intent("org.carrybeat.app.Begin", Intent.FLAG_ACTIVITY_LAUNCHED_FROM_HISTORY)))
        assertNull(asked(intent("org.carrybeat.app.Begin"), isRestored = true))
    }

    private val key = HeldKey()
    private val louder = KeyEvent.KEYCODE_VOLUME_UP

    private fun press(code: Int, vararg at: Long) = at.map { key.take(code, KeyEvent.ACTION_DOWN, 100, it) }

    @Test
    fun `the louder key held for a second asks once`() {
        assertEquals(listOf(false, false, true, false), press(louder, 100, 600, 1_100, 1_150))
    }

    @Test
    fun `a tap asks for nothing, and each press counts from its own start`() {
        press(louder, 100, 600)
        assertFalse(key.take(louder, KeyEvent.ACTION_UP, 100, 700))
        assertFalse(key.take(louder, KeyEvent.ACTION_DOWN, 2_000, 2_000))
        assertTrue(key.take(louder, KeyEvent.ACTION_DOWN, 2_000, 3_000))
    }

    @Test
    fun `the quieter key and others ask for nothing`() {
        assertEquals(listOf(false, false), press(KeyEvent.KEYCODE_VOLUME_DOWN, 100, 5_000))
        assertEquals(listOf(false, false), press(KeyEvent.KEYCODE_BACK, 100, 5_000))
    }

    private val remake = Remake()

    @Test
    fun `a page that is gone in front is made at once`() {
        assertEquals(0L, remake.gone(1_000, isFront = true))
        assertNull(remake.front())
    }

    @Test
    fun `behind other apps it waits until somebody looks`() {
        assertNull(remake.gone(1_000, isFront = false))
        assertTrue(remake.isOwed)
        assertEquals(0L, remake.front())
        assertNull("once", remake.front())
    }

    @Test
    fun `one that goes again and again waits longer, up to five seconds, and is made all the same`() {
        val waits = List(14) { remake.gone(1_000L + it, isFront = true) }
        assertEquals(listOf(0L, 500L, 1_000L), waits.take(3))
        assertEquals(5_000L, waits.last())
        assertEquals("an hour later it is the first again", 0L, remake.gone(3_600_000, isFront = true))
    }
}
