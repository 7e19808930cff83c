package org.carrybeat.phone

import android.app.NotificationManager
import android.content.Context
import android.media.AudioDeviceCallback
import android.media.AudioDeviceInfo
import android.media.AudioManager
import android.os.Handler
import org.junit.Assert.assertEquals
import org.junit.Assume.assumeTrue
import org.junit.Test
import org.mockito.ArgumentCaptor
import org.mockito.ArgumentMatchers.any
import org.mockito.ArgumentMatchers.anyInt
import org.mockito.ArgumentMatchers.anyLong
import org.mockito.ArgumentMatchers.eq
import org.mockito.Mockito.`when`
import org.mockito.Mockito.doThrow
import org.mockito.Mockito.mock
import org.mockito.Mockito.never
import org.mockito.Mockito.times
import org.mockito.Mockito.verify

/** Calls, routes and volume. */
class SoundTest {
    private val audio = mock(AudioManager::class.java)
    private val handler = mock(Handler::class.java)
    private val heard = Heard()

    @Test
    fun `a call is one that is spoken, of the phone or of an app`() {
        val spoken =
            (AudioManager.MODE_NORMAL..AudioManager.MODE_IN_COMMUNICATION).filter(Calls.Companion::isSpoken)
        assertEquals(listOf(AudioManager.MODE_IN_CALL, AudioManager.MODE_IN_COMMUNICATION), spoken)
    }

    @Test
    fun `an old phone's mode is read when something else happens`() {
        val calls = Calls(audio, { it.run() }, handler, heard.post)
        calls.start()
        `when`(audio.mode).thenReturn(AudioManager.MODE_IN_CALL)
        calls.look()
        assertEquals(listOf(false, true).map(::call), heard.take())
    }

    private fun call(on: Boolean) = """{"around":{"what":"call","on":$on}}"""

    @Test
    fun `an old phone's mode is read on while another app has the sound, and no longer`() {
        val calls = Calls(audio, { it.run() }, handler, heard.post)
        calls.start()
        `when`(audio.mode).thenReturn(AudioManager.MODE_RINGTONE)
        calls.focus(true)
        val again = ArgumentCaptor.forClass(Runnable::class.java)
        verify(handler).postDelayed(again.capture(), eq(Calls.EVERY_MS))
        assertEquals("a ring is no call", listOf(call(false)), heard.take())

        `when`(audio.mode).thenReturn(AudioManager.MODE_IN_CALL)
        again.value.run()
        assertEquals("answered, and the focus did not move", listOf(call(true)), heard.take())
        verify(handler, times(2)).postDelayed(any(Runnable::class.java), anyLong())

        `when`(audio.mode).thenReturn(AudioManager.MODE_NORMAL)
        calls.focus(false)
        assertEquals(listOf(call(false)), heard.take())
        verify(handler, times(2)).postDelayed(any(Runnable::class.java), anyLong())
    }

    @Test
    fun `a newer phone tells by itself and is not asked`() {
        val isChecked =
            onSdk(31) {
                val calls = Calls(audio, { it.run() }, handler, heard.post)
                calls.start()
                calls.focus(true)
            }
        assumeTrue(isChecked)
        verify(handler, never()).postDelayed(any(Runnable::class.java), anyLong())
    }

    private val speaker = AudioDeviceInfo.TYPE_BUILTIN_SPEAKER
    private val earpiece = AudioDeviceInfo.TYPE_BUILTIN_EARPIECE
    private val telephony = AudioDeviceInfo.TYPE_TELEPHONY

    @Test
    fun `a bare phone sounds through its speaker, what is plugged in or worn comes first`() {
        val bare = listOf(earpiece, speaker, telephony)
        val cases =
            mapOf(
                emptyList<Int>() to "speaker",
                listOf(AudioDeviceInfo.TYPE_WIRED_HEADSET) to "wired",
                listOf(AudioDeviceInfo.TYPE_USB_DEVICE) to "wired",
                listOf(AudioDeviceInfo.TYPE_BLUETOOTH_A2DP) to "wireless",
                listOf(AudioDeviceInfo.TYPE_HEARING_AID) to "wireless",
                listOf(AudioDeviceInfo.TYPE_BLE_HEADSET) to "wireless",
                listOf(AudioDeviceInfo.TYPE_WIRED_HEADPHONES, AudioDeviceInfo.TYPE_BLUETOOTH_A2DP) to "wireless",
                listOf(AudioDeviceInfo.TYPE_HDMI) to "other",
                // The call channel of a headset is no way for media.
                listOf(AudioDeviceInfo.TYPE_BLUETOOTH_SCO) to "speaker",
                // A kind that is newer than this app.
                listOf(99) to "other",
            )
        assertEquals(cases, cases.mapValues { (more, _) -> RouteRules.heard(bare + more) })
        assertEquals("no device at all", "other", RouteRules.heard(emptyList()))
        assertEquals("earpiece", RouteRules.heard(listOf(earpiece)))
    }

    private fun device(id: Int, kind: Int): AudioDeviceInfo {
        val device = mock(AudioDeviceInfo::class.java)
        `when`(device.id).thenReturn(id)
        `when`(device.type).thenReturn(kind)
        return device
    }

    private fun route(to: String) = """{"around":{"what":"route","to":"$to"}}"""

    @Test
    fun `a device that comes or goes is told, and where it sounds then`() {
        val own = device(1, speaker)
        val worn = device(2, AudioDeviceInfo.TYPE_BLUETOOTH_A2DP)
        `when`(audio.getDevices(anyInt())).thenReturn(arrayOf(own))
        val said = ArrayList<String>()
        val routes = Routes(mock(Context::class.java), audio, handler, heard.post, said::add)
        routes.start()
        val callback = ArgumentCaptor.forClass(AudioDeviceCallback::class.java)
        verify(audio).registerAudioDeviceCallback(callback.capture(), any(Handler::class.java))
        assertEquals(listOf(route("speaker")), heard.take())

        callback.value.onAudioDevicesAdded(arrayOf(own))
        assertEquals("that is how the system begins", emptyList<String>(), heard.take())

        `when`(audio.getDevices(anyInt())).thenReturn(arrayOf(own, worn))
        callback.value.onAudioDevicesAdded(arrayOf(worn))
        assertEquals(listOf("\"devices\"", route("wireless")), heard.take())

        `when`(audio.getDevices(anyInt())).thenReturn(arrayOf(own))
        callback.value.onAudioDevicesRemoved(arrayOf(worn))
        assertEquals(listOf("\"devices\"", route("speaker")), heard.take())
        assertEquals(listOf("speaker", "speaker", "wireless", "speaker"), said)
    }

    @Test
    fun `another route through the same devices is told as one that opens anew`() {
        val own = device(1, speaker)
        val worn = device(2, AudioDeviceInfo.TYPE_BLUETOOTH_A2DP)
        `when`(audio.getDevices(anyInt())).thenReturn(arrayOf(own, worn))
        val routes = Routes(mock(Context::class.java), audio, handler, heard.post) {}
        val callback = ArgumentCaptor.forClass(AudioDeviceCallback::class.java)
        val isChecked =
            onSdk(33) {
                `when`(audio.getAudioDevicesForAttributes(any())).thenReturn(listOf(worn))
                routes.start()
                assertEquals("that is how it begins", listOf(route("wireless")), heard.take())

                `when`(audio.getAudioDevicesForAttributes(any())).thenReturn(listOf(own))
                routes.look()
                assertEquals(listOf("\"devices\"", route("speaker")), heard.take())
                routes.look()
                assertEquals(emptyList<String>(), heard.take())

                verify(audio).registerAudioDeviceCallback(callback.capture(), any(Handler::class.java))
                val plugged = device(3, AudioDeviceInfo.TYPE_WIRED_HEADSET)
                `when`(audio.getDevices(anyInt())).thenReturn(arrayOf(own, worn, plugged))
                `when`(audio.getAudioDevicesForAttributes(any())).thenReturn(listOf(plugged))
                callback.value.onAudioDevicesAdded(arrayOf(plugged))
                assertEquals("opened anew once", listOf("\"devices\"", route("wired")), heard.take())
            }
        assumeTrue(isChecked)
    }

    @Test
    fun `per cent of the volume`() {
        assertEquals(0, VolumeRules.pct(0, 15, false))
        assertEquals(1, VolumeRules.pct(1, 150, false))
        assertEquals(40, VolumeRules.pct(6, 15, false))
        assertEquals(100, VolumeRules.pct(15, 15, false))
        assertEquals("muted", 0, VolumeRules.pct(15, 15, true))
        assertEquals("a phone without steps", 0, VolumeRules.pct(3, 0, false))
    }

    @Test
    fun `turned up for a run and back after it`() {
        val rules = VolumeRules()
        rules.wish(100)
        assertEquals(15, rules.raise(4, 15, true))
        assertEquals("once", null, rules.raise(4, 15, true))
        assertEquals(4, rules.back(15, true))
        assertEquals("once", null, rules.back(15, true))
    }

    @Test
    fun `never turned down, and half a step is a whole one`() {
        val rules = VolumeRules()
        rules.wish(50)
        assertEquals(null, rules.raise(9, 15, true))
        rules.wish(50)
        assertEquals(8, rules.raise(2, 15, true))
    }

    @Test
    fun `what somebody turned by hand stays`() {
        val rules = VolumeRules()
        rules.wish(100)
        rules.raise(4, 15, true)
        assertEquals(null, rules.back(9, true))
    }

    @Test
    fun `a headset is never turned up, the speaker is when it is off`() {
        val rules = VolumeRules()
        rules.wish(100)
        assertEquals(null, rules.raise(4, 15, false))
        assertEquals(15, rules.raise(4, 15, true))
    }

    @Test
    fun `a quiet run leaves the volume`() {
        val rules = VolumeRules()
        rules.wish(null)
        assertEquals(null, rules.raise(4, 15, true))
        assertEquals(null, rules.back(4, true))
    }

    private val notices = mock(NotificationManager::class.java)

    private fun loudness(): Loudness {
        `when`(audio.getStreamMaxVolume(AudioManager.STREAM_MUSIC)).thenReturn(15)
        return Loudness(mock(Context::class.java), audio, notices, handler, heard.post) {}
    }

    private fun volume(step: Int) {
        `when`(audio.getStreamVolume(AudioManager.STREAM_MUSIC)).thenReturn(step)
    }

    @Test
    fun `the stream that media plays on is turned, and told`() {
        val loudness = loudness()
        volume(3)
        loudness.hold(100)
        verify(audio).setStreamVolume(AudioManager.STREAM_MUSIC, 15, 0)
        volume(15)
        loudness.look()
        loudness.letGo()
        verify(audio).setStreamVolume(AudioManager.STREAM_MUSIC, 3, 0)
        val volumes = heard.take().filter { "volume" in it }
        assertEquals(listOf(20, 100).map { """{"around":{"what":"volume","pct":$it}}""" }, volumes)
    }

    @Test
    fun `a headset leaves it alone until it is off`() {
        val loudness = loudness()
        volume(3)
        loudness.route("wireless")
        loudness.hold(100)
        verify(audio, never()).setStreamVolume(anyInt(), anyInt(), anyInt())
        loudness.route("speaker")
        verify(audio).setStreamVolume(AudioManager.STREAM_MUSIC, 15, 0)
    }

    @Test
    fun `a phone that refuses is left as it is, and total silence is told`() {
        val loudness = loudness()
        volume(3)
        doThrow(SecurityException()).`when`(audio).setStreamVolume(anyInt(), anyInt(), anyInt())
        `when`(notices.currentInterruptionFilter).thenReturn(NotificationManager.INTERRUPTION_FILTER_NONE)
        loudness.hold(100)
        val told = heard.take()
        assertEquals(true, """{"around":{"what":"volume","pct":20}}""" in told)
        assertEquals(true, """{"around":{"what":"silent","on":true}}""" in told)
    }
}
