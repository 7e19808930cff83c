package org.carrybeat.phone

import android.media.AudioManager
import android.os.Build
import java.util.concurrent.Executor

/**
 * Whether a call is spoken, by the audio mode: no permission is needed, and calls of other apps count too.
 *
 * Before API 31 the system tells of no change of mode. A call takes the audio focus and gives it back, so the mode is
 * read again whenever the focus moves ([look]); nothing is polled.
 */
internal class Calls(private val audio: AudioManager, private val on: Executor, private val post: Post) {
    private var isStarted = false

    fun start() {
        if (!isStarted && Build.VERSION.SDK_INT >= Build.VERSION_CODES.S) {
            audio.addOnModeChangedListener(on, AudioManager.OnModeChangedListener { tell(it) })
        }
        isStarted = true
        look()
    }

    fun look() = tell(audio.mode)

    private fun tell(mode: Int) = post.tell(News.call(isSpoken(mode)))

    companion object {
        /** Ringing is none: the ring takes the focus, and that is told. */
        fun isSpoken(mode: Int) = mode == AudioManager.MODE_IN_CALL || mode == AudioManager.MODE_IN_COMMUNICATION
    }
}
