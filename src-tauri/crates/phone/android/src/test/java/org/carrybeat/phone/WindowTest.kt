package org.carrybeat.phone

import android.app.Activity
import android.app.Notification
import android.app.NotificationManager
import android.content.Context
import android.content.pm.PackageManager
import android.os.Handler
import org.junit.Assert.assertEquals
import org.junit.Assert.assertFalse
import org.junit.Assert.assertTrue
import org.junit.Test
import org.mockito.ArgumentCaptor
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.anyLong
import org.mockito.ArgumentMatchers.eq
import org.mockito.ArgumentMatchers.isNull
import org.mockito.Mockito.`when`
import org.mockito.Mockito.clearInvocations
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.verify

/** The app's window goes with its activity, and comes with the next one. */
class WindowTest {
    private val handler = mock(Handler::class.java)
    private val heard = Heard()
    private val bare = Bare(handler, heard.post)
    private val first = mock(Activity::class.java)
    private val second = mock(Activity::class.java)

    /** What is to run after so long; then it is forgotten. */
    private fun later(ms: Long): Runnable {
        val later = ArgumentCaptor.forClass(Runnable::class.java)
        verify(handler).postDelayed(later.capture(), eq(ms))
        clearInvocations(handler)
        return later.value
    }

    @Test
    fun `an activity that has its web view is not bare`() {
        bare.front(first)
        bare.filled(first)
        later(Bare.FIRST_MS).run()
        assertEquals(emptyList<String>(), heard.take())
        verify(handler, never()).postDelayed(any(Runnable::class.java), anyLong())
    }

    @Test
    fun `one that comes after it was swiped away is told until it has one`() {
        bare.front(first)
        bare.filled(first)
        bare.behind()
        assertTrue(bare.gone(first))
        clearInvocations(handler)
        bare.front(second)
        later(Bare.FIRST_MS).run()
        later(Bare.AGAIN_MS).run()
        assertEquals(listOf(BARE, BARE), heard.take())
        bare.filled(second)
        later(Bare.AGAIN_MS).run()
        assertEquals(emptyList<String>(), heard.take())
    }

    @Test
    fun `one that comes before the old one is gone waits for that`() {
        bare.front(first)
        bare.filled(first)
        bare.behind()
        clearInvocations(handler)
        bare.front(second)
        later(Bare.FIRST_MS).run()
        assertEquals(emptyList<String>(), heard.take())
        assertTrue(bare.gone(first))
        later(Bare.AGAIN_MS).run()
        assertEquals(listOf(BARE), heard.take())
    }

    @Test
    fun `an old activity that goes late takes nothing of the new one's`() {
        bare.filled(first)
        bare.filled(second)
        assertFalse(bare.gone(first))
        bare.front(second)
        later(Bare.FIRST_MS).run()
        assertEquals(emptyList<String>(), heard.take())
    }

    @Test
    fun `nothing is told of what nobody looks at`() {
        bare.front(first)
        bare.behind()
        later(Bare.FIRST_MS).run()
        assertEquals(emptyList<String>(), heard.take())
    }

    private var isSeen = false
    private var asked = 0
    private val unseen = Unseen(handler, { isSeen }, { asked++ })

    @Test
    fun `an app that did not come back asks to, one that did does not`() {
        unseen.swiped()
        later(Unseen.WAIT_MS).run()
        assertEquals(1, asked)
        isSeen = true
        unseen.swiped()
        later(Unseen.WAIT_MS).run()
        assertEquals(1, asked)
    }

    @Test
    fun `that notice is one of its own`() {
        val context = mock(Context::class.java)
        val notices = mock(NotificationManager::class.java)
        `when`(context.getString(anyInt())).thenReturn("words")
        `when`(context.packageName).thenReturn("org.carrybeat.app")
        `when`(context.packageManager).thenReturn(mock(PackageManager::class.java))
        RunNotice.unseen(context, notices)
        verify(notices).notify(eq(RunNotice.UNSEEN), isNull<Notification>())
    }

    private companion object {
        const val BARE = "\"bare\""
    }
}
