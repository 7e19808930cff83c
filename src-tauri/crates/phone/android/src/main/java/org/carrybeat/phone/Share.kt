package org.carrybeat.phone

import android.app.Activity
import android.app.KeyguardManager
import android.content.ClipData
import android.content.Context
import android.content.Intent
import android.os.Handler
import androidx.core.content.FileProvider
import java.io.File
import java.io.IOException
import java.util.concurrent.Executor

/**
 * Hands files to another app, all at once. They are copied first, into the one folder that other apps may be let into,
 * which is emptied each time: the records' own folder stays shut. On a locked phone it asks for the lock to be opened.
 */
internal class Share(private val context: Context, private val disk: Executor, private val handler: Handler) {
    fun share(paths: List<String>, activity: Activity, done: (String?) -> Unit) {
        if (paths.isEmpty()) return done("no file was given to share; write it again and try again")
        disk.execute {
            try {
                val copies = copy(paths.map(::File), File(context.cacheDir, FOLDER))
                handler.post { offer(copies, activity, done) }
            } catch (error: IOException) {
                val what = "$paths cannot be copied: ${error.message}; free some space and try again"
                handler.post { done(what) }
            }
        }
    }

    /** Says once what is in the way, `null` if nothing is: at once, or on a locked phone when the lock has been asked. */
    private fun offer(files: List<File>, activity: Activity, done: (String?) -> Unit) {
        var isAsked = false
        val refused =
            refusal {
                val guard = context.getSystemService(Context.KEYGUARD_SERVICE) as KeyguardManager
                if (guard.isKeyguardLocked) {
                    guard.requestDismissKeyguard(activity, opened(files, activity, done))
                    isAsked = true
                } else {
                    choose(files, activity)
                }
            }
        if (!isAsked) done(refused)
    }

    /** Called by the system after `offer` is over: what is thrown then nobody else catches, and it ends the sound. */
    private fun opened(files: List<File>, activity: Activity, done: (String?) -> Unit) =
        object : KeyguardManager.KeyguardDismissCallback() {
            override fun onDismissSucceeded() = done(refusal { choose(files, activity) })

            override fun onDismissCancelled() = done("the phone was not unlocked; unlock it and try again")

            override fun onDismissError() =
                done("the system does not unlock the phone for it; unlock it first and try again")
        }

    /** What the system refuses, `null` if it does not. */
    private fun refusal(call: () -> Unit): String? =
        try {
            call()
            null
        } catch (error: RuntimeException) {
            // Each version of the system has an exception of its own for it.
            "the system does not hand files over: ${error.message}; try again, or hand in from another phone"
        }

    private fun choose(files: List<File>, activity: Activity) {
        val uris = files.map { FileProvider.getUriForFile(context, context.packageName + ".fileprovider", it) }
        val send = Intent(action(files.size))
        send.type = kind(files.map { it.name })
        if (files.size == 1) {
            send.putExtra(Intent.EXTRA_STREAM, uris.single())
        } else {
            send.putParcelableArrayListExtra(Intent.EXTRA_STREAM, ArrayList(uris))
        }
        // Who is let in is told by what lies on the clip, of each file.
        val clip = ClipData.newRawUri(files.first().name, uris.first())
        uris.drop(1).forEach { clip.addItem(ClipData.Item(it)) }
        send.clipData = clip
        send.addFlags(Intent.FLAG_GRANT_READ_URI_PERMISSION)
        activity.startActivity(Intent.createChooser(send, null))
    }

    companion object {
        /** The only folder named in the app's `file_paths.xml`. */
        const val FOLDER = "handed"

        /** Two of one name are refused: the second would take the first one's place. */
        @Throws(IOException::class)
        fun copy(files: List<File>, folder: File): List<File> {
            folder.deleteRecursively()
            if (!folder.mkdirs() && !folder.isDirectory) throw IOException("$folder cannot be made")
            return files.map { it.copyTo(File(folder, it.name)) }
        }

        /** An app that takes one file alone is not offered several, and the other way round. */
        fun action(files: Int): String = if (files == 1) Intent.ACTION_SEND else Intent.ACTION_SEND_MULTIPLE

        /** What files of these names are together. */
        fun kind(names: List<String>): String {
            val kinds = names.map { kind(it) }.distinct()
            return kinds.singleOrNull() ?: kinds.map { it.substringBefore('/') }.distinct().singleOrNull()?.plus("/*")
                ?: "*/*"
        }

        fun kind(name: String): String =
            when (name.substringAfterLast('.', "").lowercase()) {
                "pdf" -> "application/pdf"
                "csv" -> "text/csv"
                "txt" -> "text/plain"
                "json", "jsonl" -> "application/json"
                "xml" -> "application/xml"
                "svg" -> "image/svg+xml"
                "png" -> "image/png"
                "wav" -> "audio/x-wav"
                "zip" -> "application/zip"
                else -> "application/octet-stream"
            }
    }
}
