package org.carrybeat.phone

import android.content.Context
import android.content.IntentFilter
import android.media.AudioAttributes
import android.media.AudioDeviceCallback
import android.media.AudioDeviceInfo
import android.media.AudioManager
import android.os.Build
import android.os.Handler

/**
 * Where the sound goes. The sound's own stream is never told of a new device, so that this is what makes it open
 * anew.
 */
internal class Routes(
    private val context: Context,
    private val audio: AudioManager,
    private val handler: Handler,
    private val post: Post,
    private val changed: (String) -> Unit,
) {
    private var ids: Set<Int> = emptySet()
    private var isStarted = false

    /** Where it goes now. */
    var now = RouteRules.SPEAKER
        private set

    fun start() {
        if (isStarted) return look()
        isStarted = true
        ids = outputs().map { it.id }.toSet()
        read(isOpened = true)
        audio.registerAudioDeviceCallback(
            object : AudioDeviceCallback() {
                override fun onAudioDevicesAdded(added: Array<out AudioDeviceInfo>?) = moved()

                override fun onAudioDevicesRemoved(removed: Array<out AudioDeviceInfo>?) = moved()
            },
            handler,
        )
        // Told before the device is gone: what would have been heard in the ear is now heard by all.
        context.hear(IntentFilter(AudioManager.ACTION_AUDIO_BECOMING_NOISY)) {
            post.tell(News.devices())
            read(isOpened = true)
        }
    }

    /** Reads the route again and tells it. */
    fun look() = read(isOpened = false)

    /** `isOpened`: the sound opens anew already. Else it does if the route is another one through the same devices. */
    private fun read(isOpened: Boolean) {
        val before = now
        now = RouteRules.heard(kinds())
        if (now != before && !isOpened) post.tell(News.devices())
        post.tell(News.route(now))
        changed(now)
    }

    /** The system also calls this once when it is asked to, with all that is there: that is no change. */
    private fun moved() {
        val there = outputs().map { it.id }.toSet()
        val areOthers = there != ids
        ids = there
        if (areOthers) post.tell(News.devices())
        read(isOpened = areOthers)
    }

    private fun outputs(): List<AudioDeviceInfo> = audio.getDevices(AudioManager.GET_DEVICES_OUTPUTS).toList()

    private fun kinds(): List<Int> {
        if (Build.VERSION.SDK_INT >= Build.VERSION_CODES.TIRAMISU) {
            val media = AudioAttributes.Builder()
            media.setUsage(AudioAttributes.USAGE_MEDIA)
            val told = audio.getAudioDevicesForAttributes(media.build()).map { it.type }
            if (told.isNotEmpty()) return told
        }
        return outputs().map { it.type }
    }
}
