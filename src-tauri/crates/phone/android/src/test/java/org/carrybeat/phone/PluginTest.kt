package org.carrybeat.phone

import android.app.Activity
import android.app.ActivityManager
import android.app.KeyguardManager
import android.app.NotificationManager
import android.content.ComponentName
import android.content.ContentResolver
import android.content.Context
import android.content.Intent
import android.content.res.Configuration
import android.content.res.Resources
import android.hardware.SensorManager
import android.media.AudioDeviceInfo
import android.media.AudioManager
import android.os.PowerManager
import android.os.Vibrator
import android.view.KeyEvent
import android.view.Window
import android.view.WindowManager
import app.tauri.annotation.Command
import app.tauri.plugin.Invoke
import org.junit.Assert.assertEquals
import org.junit.Assert.assertTrue
import org.junit.Assume.assumeTrue
import org.junit.Before
import org.junit.Test
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.Mockito.RETURNS_DEEP_STUBS
import org.mockito.Mockito.`when`
import org.mockito.Mockito.clearInvocations
import org.mockito.Mockito.doThrow
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

/** The whole plugin between its commands and a phone of mocks. */
class PluginTest {
    private val app = mock(Context::class.java)
    private val audio = mock(AudioManager::class.java)
    private val power = mock(PowerManager::class.java)
    private val vibrator = mock(Vibrator::class.java)
    private val activities = mock(ActivityManager::class.java)
    private val said = ArrayList<String>()
    private val activity = mock(Activity::class.java)
    private lateinit var phone: Phone
    private lateinit var plugin: PhonePlugin

    @Before
    fun stand() {
        val services =
            mapOf(
                Context.AUDIO_SERVICE to audio,
                Context.POWER_SERVICE to power,
                Context.NOTIFICATION_SERVICE to mock(NotificationManager::class.java),
                Context.SENSOR_SERVICE to mock(SensorManager::class.java),
                Context.ACTIVITY_SERVICE to activities,
                Context.KEYGUARD_SERVICE to mock(KeyguardManager::class.java),
                Context.VIBRATOR_SERVICE to vibrator,
            )
        services.forEach { (name, service) -> `when`(app.getSystemService(name)).thenReturn(service) }
        `when`(app.packageName).thenReturn("org.carrybeat.app")
        `when`(app.contentResolver).thenReturn(mock(ContentResolver::class.java))
        `when`(audio.getDevices(anyInt())).thenReturn(arrayOf<AudioDeviceInfo>())
        `when`(audio.getStreamMaxVolume(AudioManager.STREAM_MUSIC)).thenReturn(15)
        `when`(audio.getStreamVolume(AudioManager.STREAM_MUSIC)).thenReturn(6)
        `when`(power.isInteractive).thenReturn(true)
        phone = Phone(app)
        plugin = PhonePlugin(activity, phone)
    }

    /** As Tauri does it: by the command's name. Returns which answer came, and with what. */
    private fun command(name: String, args: String): Pair<Long, String>? {
        var answer: Pair<Long, String>? = null
        val invoke = Invoke(1, name, RESOLVED, REJECTED, { to, what -> answer = to to what }, args, Examples.mapper)
        PhonePlugin::class.java.methods
            .single { it.name == name && it.isAnnotationPresent(Command::class.java) }
            .invoke(plugin, invoke)
        return answer
    }

    private fun listen() = phone.listen { said.add(Examples.mapper.writeValueAsString(it)) }

    @Test
    fun `every example of a wish is answered`() {
        for (name in Examples.commands - "share") {
            for (args in Examples.args(name)) assertEquals("$name $args", RESOLVED to "null", command(name, args))
        }
    }

    @Test
    fun `who listens is told how things stand`() {
        listen()
        val around = said.map { Examples.mapper.readTree(it)["around"] }
        val what = around.map { it["what"].asText() }.toSet()
        assertEquals(setOf("call", "route", "volume", "silent", "saving", "lit", "locked", "front"), what)
        assertEquals(40, around.single { it["what"].asText() == "volume" }["pct"].asInt())
    }

    @Test
    fun `a hold starts the service and a let go stops it and the vibrator`() {
        command("hold", Examples.args("hold").first())
        verify(app).startForegroundService(any(Intent::class.java))
        assertTrue(phone.isHeld)
        verify(app, never()).stopService(any(Intent::class.java))
        phone.serving(true)
        command("letGo", "{}")
        verify(app).stopService(any(Intent::class.java))
        verify(vibrator).cancel()
        assertEquals(false, phone.isHeld)
    }

    /** Android ends the app whose service is stopped after it was asked for and before it is in the foreground. */
    @Test
    fun `a let go right behind a hold leaves the service to stop itself`() {
        command("hold", Examples.args("hold").first())
        command("letGo", "{}")
        verify(app, never()).stopService(any(Intent::class.java))
        assertEquals(false, phone.isHeld)
    }

    /** An activity with a window. */
    private fun shown(): Activity {
        val window = mock(Window::class.java)
        val shown = mock(Activity::class.java)
        `when`(window.attributes).thenReturn(WindowManager.LayoutParams())
        `when`(shown.window).thenReturn(window)
        `when`(shown.windowManager).thenReturn(mock(WindowManager::class.java, RETURNS_DEEP_STUBS))
        `when`(shown.resources).thenReturn(mock(Resources::class.java))
        `when`(shown.resources.configuration).thenReturn(Configuration())
        return shown
    }

    @Test
    fun `an ended run stays on the screen, over the lock, until that is given back`() {
        val shown = shown()
        val window = shown.window
        phone.front(shown)
        command("hold", Examples.args("hold").first())
        clearInvocations(window)
        command("screen", """{"on":true}""")
        verify(window).addFlags(OVER_LOCK)
        command("letGo", "{}")
        verify(window, never()).clearFlags(anyInt())
        command("screen", """{"on":false}""")
        verify(window).clearFlags(OVER_LOCK)
        verify(window).clearFlags(WindowManager.LayoutParams.FLAG_KEEP_SCREEN_ON)
    }

    @Test
    fun `a phone that lets no service start says so`() {
        listen()
        said.clear()
        doThrow(IllegalStateException()).`when`(app).startForegroundService(any(Intent::class.java))
        command("hold", Examples.args("hold").first())
        assertTrue(held(false) in said)
    }

    @Test
    fun `a service that was refused is started again once the app is in front, and one that ended too`() {
        listen()
        doThrow(IllegalStateException()).doReturn(null).`when`(app).startForegroundService(any(Intent::class.java))
        command("hold", Examples.args("hold").first())
        phone.front(activity)
        verify(app, times(2)).startForegroundService(any(Intent::class.java))
        phone.serving(true)
        assertEquals(listOf(false, true).map(::held), said.filter { "held" in it })

        phone.behind(activity)
        phone.front(activity)
        verify(app, times(2)).startForegroundService(any(Intent::class.java))
        phone.serving(false)
        phone.front(activity)
        verify(app, times(3)).startForegroundService(any(Intent::class.java))
    }

    @Test
    fun `no service is started in front without a run`() {
        phone.front(activity)
        command("hold", Examples.args("hold").first())
        phone.serving(true)
        command("letGo", "{}")
        phone.front(activity)
        verify(app, times(1)).startForegroundService(any(Intent::class.java))
    }

    @Test
    fun `what is forbidden in the settings during a run is told when something else happens`() {
        listen()
        val isChecked =
            onSdk(28) {
                command("hold", Examples.args("hold").first())
                phone.serving(true)
                `when`(activities.isBackgroundRestricted).thenReturn(true)
                phone.front(activity)
                `when`(activities.isBackgroundRestricted).thenReturn(false)
                phone.front(activity)
            }
        assumeTrue(isChecked)
        assertEquals(listOf(true, false, true).map(::held), said.filter { "held" in it })
    }

    @Test
    fun `a share without a screen is refused with the reason`() {
        val (to, what) = command("share", Examples.args("share").first())!!
        assertEquals(REJECTED, to)
        assertTrue(what, "no screen" in what)
    }

    @Test
    fun `a screen that was in front before anybody listened is told`() {
        phone.front(activity)
        listen()
        assertTrue(front(true) in said)
        phone.behind(activity)
        assertTrue(front(false) in said)
    }

    @Test
    fun `in a run and until it is sealed the way back leads behind the other apps, else out of the app`() {
        `when`(activity.moveTaskToBack(true)).thenReturn(true)
        assertEquals(false, phone.stays(activity))
        verify(activity, never()).moveTaskToBack(true)
        phone.hold(HoldArgs())
        assertEquals(true, phone.stays(activity))
        phone.keepScreen(true)
        phone.letGo()
        assertEquals(true, phone.stays(activity))
        phone.keepScreen(false)
        assertEquals(false, phone.stays(activity))
    }

    @Test
    fun `an activity that is gone takes the page along`() {
        phone.front(activity)
        phone.filled(activity)
        listen()
        said.clear()
        phone.behind(activity)
        phone.gone(mock(Activity::class.java))
        phone.gone(activity)
        assertEquals(listOf(front(false), """{"around":{"what":"page","on":false}}"""), said)
    }

    @Test
    fun `another activity's going says nothing of the one in front`() {
        phone.front(activity)
        listen()
        said.clear()
        phone.behind(mock(Activity::class.java))
        assertEquals(emptyList<String>(), said)
    }

    /** A drill is held as a run is, and so is a run that was left: only Rust knows whether a start is nothing new. */
    @Test
    fun `a start is told in a run as well, and that it was the held key`() {
        val event = mock(KeyEvent::class.java)
        `when`(event.keyCode).thenReturn(KeyEvent.KEYCODE_VOLUME_UP)
        `when`(event.action).thenReturn(KeyEvent.ACTION_DOWN)
        `when`(event.eventTime).thenReturn(1_000)
        phone.key(event)
        assertEquals("told when somebody listens, and once", listOf(begin(byKey = true)), listenFor("begin"))

        phone.hold(HoldArgs())
        `when`(event.eventTime).thenReturn(0, 1_000)
        phone.key(event)
        phone.key(event)
        assertEquals(listOf(begin(byKey = true)), said.filter { "begin" in it })

        said.clear()
        val alias = mock(ComponentName::class.java)
        `when`(alias.className).thenReturn("org.carrybeat.app.Begin")
        val tile = mock(Intent::class.java)
        `when`(tile.component).thenReturn(alias)
        phone.arrives(shown(), tile, isRestored = false)
        assertEquals(listOf(begin(byKey = false)), said.filter { "begin" in it })
    }

    private fun listenFor(word: String): List<String> {
        listen()
        return said.filter { word in it }.also { said.clear() }
    }

    private fun held(on: Boolean) = """{"around":{"what":"held","on":$on}}"""

    private fun front(on: Boolean) = """{"around":{"what":"front","on":$on}}"""

    @Test
    fun `whether the service runs is told`() {
        listen()
        said.clear()
        phone.serving(true)
        phone.serving(false)
        assertEquals(listOf(true, false).map(::held), said)
    }

    private companion object {
        const val RESOLVED = 0L
        const val REJECTED = 1L

        @Suppress("DEPRECATION")
        const val OVER_LOCK =
            WindowManager.LayoutParams.FLAG_SHOW_WHEN_LOCKED or WindowManager.LayoutParams.FLAG_TURN_SCREEN_ON
    }

    private fun begin(byKey: Boolean) = """{"begin":{"ago_ms":0,"by_key":$byKey}}"""
}
