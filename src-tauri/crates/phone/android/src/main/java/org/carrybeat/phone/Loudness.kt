package org.carrybeat.phone

import android.app.NotificationManager
import android.content.Context
import android.content.IntentFilter
import android.database.ContentObserver
import android.media.AudioManager
import android.os.Handler
import android.provider.Settings

/**
 * How loud media sounds on this phone: its volume, and the total silence that a phone can be put into.
 *
 * Other modes of not disturbing leave media alone or turn its volume to nothing, which the volume says.
 */
internal class Loudness(
    private val context: Context,
    private val audio: AudioManager,
    private val notices: NotificationManager,
    private val handler: Handler,
    private val post: Post,
    private val moved: () -> Unit,
) {
    private val rules = VolumeRules()
    private var isSpeaker = true
    private var isStarted = false

    fun start() {
        if (!isStarted) {
            isStarted = true
            val settings =
                object : ContentObserver(handler) {
                    override fun onChange(self: Boolean) = turned()
                }
            context.contentResolver.registerContentObserver(Settings.System.CONTENT_URI, true, settings)
            // Not in the documentation, but sooner than the settings, which are written half a second later.
            context.hear(IntentFilter("android.media.VOLUME_CHANGED_ACTION")) { turned() }
            context.hear(IntentFilter(NotificationManager.ACTION_INTERRUPTION_FILTER_CHANGED)) { look() }
        }
        look()
    }

    fun look() {
        val step = audio.getStreamVolume(STREAM)
        val pct = VolumeRules.pct(step, audio.getStreamMaxVolume(STREAM), audio.isStreamMute(STREAM))
        post.tell(News.volume(pct))
        post.tell(News.silent(notices.currentInterruptionFilter == NotificationManager.INTERRUPTION_FILTER_NONE))
    }

    fun hold(pct: Int?) {
        rules.wish(pct)
        raise()
    }

    fun letGo() {
        rules.back(audio.getStreamVolume(STREAM), isSpeaker)?.let(::set)
        look()
    }

    /** The sound goes there now: a speaker that was not turned up for a headset's sake is turned up. */
    fun route(to: String) {
        isSpeaker = to == RouteRules.SPEAKER
        raise()
    }

    private fun raise() {
        val max = audio.getStreamMaxVolume(STREAM)
        rules.raise(audio.getStreamVolume(STREAM), max, isSpeaker)?.let(::set)
        look()
    }

    private fun set(step: Int) {
        try {
            audio.setStreamVolume(STREAM, step, 0)
        } catch (_: SecurityException) {
            // A phone that is not to be disturbed may refuse; the volume that is told says so.
        }
    }

    /** Each route has a volume of its own, so a volume that changed may be another route's. */
    private fun turned() {
        moved()
        look()
    }

    private companion object {
        const val STREAM = AudioManager.STREAM_MUSIC
    }
}
