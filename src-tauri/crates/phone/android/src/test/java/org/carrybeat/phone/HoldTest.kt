package org.carrybeat.phone

import android.app.Notification
import android.app.NotificationManager
import android.app.Service
import android.content.Context
import android.content.Intent
import android.content.pm.PackageManager
import android.content.pm.ServiceInfo
import android.os.PowerManager
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Before
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.anyString
import org.mockito.ArgumentMatchers.eq
import org.mockito.ArgumentMatchers.isNull
import org.mockito.Mockito.`when`
import org.mockito.Mockito.doThrow
import org.mockito.Mockito.inOrder
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.verify

/** The service that holds a run. */
class HoldTest {
    private val service = mock(Service::class.java)
    private val power = mock(PowerManager::class.java)
    private val lock = mock(PowerManager.WakeLock::class.java)
    private val notices = mock(NotificationManager::class.java)
    private val packages = mock(PackageManager::class.java)
    private val launch = mock(Intent::class.java)
    private var isHeld = true
    private val told = ArrayList<Boolean>()
    private var swiped = 0
    private val keeper = RunKeeper(service, { isHeld }, told::add, { swiped++ })

    @Before
    fun stand() {
        `when`(service.getSystemService(Context.POWER_SERVICE)).thenReturn(power)
        `when`(service.getSystemService(Context.NOTIFICATION_SERVICE)).thenReturn(notices)
        `when`(service.getString(anyInt())).thenReturn("words")
        `when`(service.packageName).thenReturn("org.carrybeat.app")
        `when`(service.packageManager).thenReturn(packages)
        `when`(packages.getLaunchIntentForPackage("org.carrybeat.app")).thenReturn(launch)
        `when`(power.newWakeLock(anyInt(), anyString())).thenReturn(lock)
    }

    @Test
    fun `a run is held in the foreground, awake and for longer than 90 minutes`() {
        assertEquals(Service.START_STICKY, keeper.command(Intent(), 1))
        verify(service).startForeground(eq(RunNotice.RUN), isNull<Notification>())
        verify(power).newWakeLock(PowerManager.PARTIAL_WAKE_LOCK, "carrybeat:run")
        verify(lock).acquire(RunKeeper.AWAKE_MS)
        assertTrue(RunKeeper.AWAKE_MS > 90 * 60 * 1000L)
        assertEquals(listOf(true), told)
    }

    @Test
    fun `a newer phone is told that it is for sound`() {
        val isChecked =
            onSdk(34) {
                keeper.command(Intent(), 1)
                verify(service).startForeground(
                    eq(RunNotice.RUN),
                    isNull<Notification>(),
                    eq(ServiceInfo.FOREGROUND_SERVICE_TYPE_MEDIA_PLAYBACK),
                )
            }
        org.junit.Assume.assumeTrue(isChecked)
    }

    @Test
    fun `a phone that forbids it is told of, and no service lies about`() {
        doThrow(SecurityException()).`when`(service).startForeground(anyInt(), isNull<Notification>())
        assertEquals(Service.START_NOT_STICKY, keeper.command(Intent(), 7))
        verify(service).stopSelf(7)
        verify(lock, never()).acquire(RunKeeper.AWAKE_MS)
        assertEquals(listOf(false), told)
    }

    @Test
    fun `a run that was over before the service began holds nothing, and the service goes to the front before it goes`() {
        isHeld = false
        assertEquals(Service.START_NOT_STICKY, keeper.command(Intent(), 5))
        val order = inOrder(service)
        order.verify(service).startForeground(eq(RunNotice.RUN), isNull<Notification>())
        order.verify(service).stopSelf(5)
        verify(lock, never()).acquire(RunKeeper.AWAKE_MS)
        assertEquals(emptyList<Boolean>(), told)
    }

    @Test
    fun `a service that the system made anew holds nothing and says so aloud`() {
        isHeld = false
        assertEquals(Service.START_NOT_STICKY, keeper.command(null, 3))
        verify(notices).notify(eq(RunNotice.BROKEN), isNull<Notification>())
        verify(service).stopSelf(3)
        verify(service, never()).startForeground(anyInt(), isNull<Notification>())
        assertEquals(emptyList<Boolean>(), told)
    }

    @Test
    fun `swiped away in a run the app comes back, or asks to`() {
        keeper.swiped()
        verify(launch).addFlags(Intent.FLAG_ACTIVITY_NEW_TASK)
        verify(service).startActivity(launch)
        doThrow(SecurityException()).`when`(service).startActivity(any(Intent::class.java))
        keeper.swiped()
        assertEquals("looked after whatever the system said", 2, swiped)
        verify(notices, never()).notify(anyInt(), isNull<Notification>())
    }

    @Test
    fun `swiped away without a run it stays away`() {
        isHeld = false
        keeper.swiped()
        verify(service, never()).startActivity(any(Intent::class.java))
        assertEquals(0, swiped)
    }

    @Test
    fun `its end lets the phone sleep, and is told if a run goes on`() {
        keeper.command(Intent(), 1)
        `when`(lock.isHeld).thenReturn(true)
        keeper.end()
        verify(lock).release()
        assertEquals(listOf(true, false), told)
    }

    @Test
    fun `its end after the run is no news`() {
        keeper.command(Intent(), 1)
        isHeld = false
        keeper.end()
        verify(lock, never()).release()
        assertEquals(listOf(true), told)
    }
}
