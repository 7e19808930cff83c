@file:Suppress("DEPRECATION")

package org.carrybeat.phone

import android.app.Activity
import android.content.pm.ActivityInfo.SCREEN_ORIENTATION_LANDSCAPE
import android.content.pm.ActivityInfo.SCREEN_ORIENTATION_PORTRAIT
import android.content.pm.ActivityInfo.SCREEN_ORIENTATION_REVERSE_LANDSCAPE
import android.content.pm.ActivityInfo.SCREEN_ORIENTATION_REVERSE_PORTRAIT
import android.content.pm.ActivityInfo.SCREEN_ORIENTATION_UNSPECIFIED
import android.content.res.Configuration
import android.content.res.Configuration.ORIENTATION_LANDSCAPE
import android.content.res.Configuration.ORIENTATION_PORTRAIT
import android.content.res.Resources
import android.view.Display
import android.view.Surface
import android.view.Window
import android.view.WindowManager
import org.junit.Assert.assertEquals
import org.junit.Assume.assumeTrue
import org.junit.Before
import org.junit.Test
import org.mockito.Mockito.`when`
import org.mockito.Mockito.atLeastOnce
import org.mockito.Mockito.clearInvocations
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.verify

class ScreenTest {
    private val rotations = listOf(Surface.ROTATION_0, Surface.ROTATION_90, Surface.ROTATION_180, Surface.ROTATION_270)
    private val round =
        listOf(
            SCREEN_ORIENTATION_PORTRAIT,
            SCREEN_ORIENTATION_LANDSCAPE,
            SCREEN_ORIENTATION_REVERSE_PORTRAIT,
            SCREEN_ORIENTATION_REVERSE_LANDSCAPE,
        )

    @Test
    fun `a phone is frozen as it is held`() {
        val tall = ORIENTATION_PORTRAIT
        val wide = ORIENTATION_LANDSCAPE
        assertEquals(round, rotations.zip(listOf(tall, wide, tall, wide)).map { (r, s) -> Quarter.now(r, s) })
    }

    @Test
    fun `a tablet that is wide by nature too`() {
        val tall = ORIENTATION_PORTRAIT
        val wide = ORIENTATION_LANDSCAPE
        val frozen = rotations.zip(listOf(wide, tall, wide, tall)).map { (r, s) -> Quarter.now(r, s) }
        assertEquals(listOf(round[1], round[0], round[3], round[2]), frozen)
    }

    private val activity = mock(Activity::class.java)
    private val window = mock(Window::class.java)
    private val attributes = WindowManager.LayoutParams()
    private val screen = ScreenHold()

    @Before
    fun stand() {
        val windows = mock(WindowManager::class.java)
        val resources = mock(Resources::class.java)
        val shape = Configuration()
        shape.orientation = ORIENTATION_PORTRAIT
        `when`(resources.configuration).thenReturn(shape)
        `when`(windows.defaultDisplay).thenReturn(mock(Display::class.java))
        `when`(activity.windowManager).thenReturn(windows)
        `when`(activity.resources).thenReturn(resources)
        `when`(activity.window).thenReturn(window)
        attributes.screenBrightness = -1f
        `when`(window.attributes).thenReturn(attributes)
    }

    private val over =
        WindowManager.LayoutParams.FLAG_SHOW_WHEN_LOCKED or WindowManager.LayoutParams.FLAG_TURN_SCREEN_ON

    @Test
    fun `a run keeps the screen on, over the lock and the same way up`() {
        screen.hold(activity)
        verify(window).addFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
        verify(window).addFlags(over)
        verify(activity).requestedOrientation = SCREEN_ORIENTATION_PORTRAIT
        clearInvocations(window, activity)
        screen.letGo(activity)
        verify(window).clearFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
        verify(window).clearFlags(over)
        verify(activity).requestedOrientation = SCREEN_ORIENTATION_UNSPECIFIED
    }

    @Test
    fun `a newer phone has words of its own for the lock`() {
        val isChecked =
            onSdk(31) {
                screen.hold(activity)
                verify(activity).setShowWhenLocked(true)
                verify(activity).setTurnScreenOn(true)
            }
        assumeTrue(isChecked)
        verify(window, never()).addFlags(over)
    }

    @Test
    fun `an activity that comes in a run is held too`() {
        screen.hold(null)
        screen.lay(activity)
        verify(window).addFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
    }

    @Test
    fun `an activity that comes later stands as the one before stood`() {
        screen.hold(activity)
        clearInvocations(activity)
        `when`(activity.windowManager.defaultDisplay.rotation).thenReturn(Surface.ROTATION_180)
        screen.lay(activity)
        verify(activity).requestedOrientation = SCREEN_ORIENTATION_PORTRAIT
    }

    @Test
    fun `a start that led to no run is not shown over the lock next time`() {
        screen.begin(activity)
        verify(window).addFlags(over)
        screen.hidden(activity)
        verify(window).clearFlags(over)
    }

    @Test
    fun `a run stays over the lock when the screen goes dark`() {
        screen.begin(activity)
        screen.hold(activity)
        screen.hidden(activity)
        verify(window, never()).clearFlags(over)
    }

    @Test
    fun `brightness in per cent, never quite dark, and back to the phone`() {
        screen.brightness(30, activity)
        assertEquals(0.3f, attributes.screenBrightness)
        screen.brightness(0, activity)
        assertEquals(0.01f, attributes.screenBrightness)
        screen.brightness(null, activity)
        assertEquals(-1f, attributes.screenBrightness)
        verify(window, atLeastOnce()).attributes = attributes
    }
}
