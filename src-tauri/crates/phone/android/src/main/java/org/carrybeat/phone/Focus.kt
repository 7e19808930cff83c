package org.carrybeat.phone

import android.media.AudioAttributes
import android.media.AudioFocusRequest
import android.media.AudioManager
import android.os.Handler
import android.os.SystemClock

/**
 * The audio focus: held for the whole run, so that other apps stop or step back.
 *
 * The system may not turn us down when another app speaks over us (`setWillPauseWhenDucked` takes that away from it);
 * we do not pause either.
 */
internal class Focus(
    private val audio: AudioManager,
    private val handler: Handler,
    private val post: Post,
    private val moved: (Boolean) -> Unit,
    private val now: () -> Long = SystemClock::elapsedRealtime,
    private val request: (AudioManager.OnAudioFocusChangeListener) -> AudioFocusRequest? = { request(it, handler) },
) {
    private val rules = FocusRules()
    private var held: AudioFocusRequest? = null
    private val again = Runnable { ask() }
    private val listener =
        AudioManager.OnAudioFocusChangeListener { change ->
            follow(rules.changed(change, now()))
        }

    fun hold() {
        if (held == null) held = request(listener)
        ask()
    }

    fun letGo() {
        handler.removeCallbacks(again)
        held?.let(audio::abandonAudioFocusRequest)
        held = null
        rules.reset()
        post.tell(News.taken(false))
        moved(false)
    }

    private fun ask() {
        val request = held ?: return
        follow(rules.answered(audio.requestAudioFocus(request), now()))
    }

    private fun follow(wait: Long?) {
        handler.removeCallbacks(again)
        if (held == null) return
        if (wait != null) handler.postDelayed(again, wait)
        post.tell(News.taken(rules.isTaken))
        moved(rules.isTaken)
    }

    private companion object {
        fun request(listener: AudioManager.OnAudioFocusChangeListener, handler: Handler): AudioFocusRequest? {
            val attributes = AudioAttributes.Builder()
            attributes.setUsage(AudioAttributes.USAGE_MEDIA)
            attributes.setContentType(AudioAttributes.CONTENT_TYPE_SONIFICATION)
            val request = AudioFocusRequest.Builder(AudioManager.AUDIOFOCUS_GAIN)
            request.setAudioAttributes(attributes.build())
            request.setWillPauseWhenDucked(true)
            // In a call the request waits instead of being refused, and is granted when the call is over.
            request.setAcceptsDelayedFocusGain(true)
            request.setOnAudioFocusChangeListener(listener, handler)
            return request.build()
        }
    }
}
